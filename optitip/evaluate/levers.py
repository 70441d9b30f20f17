"""How far the answer hangs on what the user is unsure of beside the flow: the build of the sample's joint."""

from dataclasses import dataclass

from optitip.errors import Outcome
from optitip.evaluate.assess import assess
from optitip.inputs.study import Study
from optitip.properties.joints import JOINT_RANGES

METRIC = "sample.energy_peak"


@dataclass(frozen=True, slots=True, kw_only=True)
class JointSwing:
    """The expected peak energy [J] at the low and the high end of the joint's range [W/(m2 K)]."""

    build: str
    conductance: tuple[float, float]
    energy: tuple[float, float]


def joint_swing(study: Study) -> JointSwing | None:
    """Return what the joint's range does to the expected energy; None if the study gives one number."""
    joint = study.tables.sample.joint
    if joint.conductance is not None:
        return None
    ends = JOINT_RANGES[joint.build]
    energies = []
    for conductance in (ends.low, ends.high):
        design = {"sample.joint.conductance": f"{conductance!r} W/(m2 K)"}
        answer = assess(study, design=design, searching=True)
        if answer.outcome is not Outcome.ANSWERED:
            return None
        energies.append(answer.metrics[METRIC].expected)
    return JointSwing(
        build=joint.build.value, conductance=(ends.low, ends.high), energy=(energies[0], energies[1])
    )
