"""How far the answer hangs on what is unsure beside the flow: the sample's joint, the air in an open base."""

from dataclasses import dataclass

from optitip.errors import Outcome
from optitip.evaluate.assess import assess
from optitip.inputs.study import Study
from optitip.inputs.study_tables import BaseAir
from optitip.properties.joints import JOINT_RANGES

METRIC, KEPT = "sample.energy_peak", "sample.energy_landing"


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


@dataclass(frozen=True, slots=True, kw_only=True)
class BaseSwing:
    """The expected energy [J] at landing with the base as open as it is, and closed."""

    opened: float
    closed: float


def base_swing(study: Study) -> BaseSwing | None:
    """Return what the air in an open base does to the energy at landing; None if the base is closed."""
    flight = study.tables.flight
    if flight is None or flight.descent.base is BaseAir.CLOSED:
        return None
    kept = []
    for base in (BaseAir.OPEN, BaseAir.CLOSED):
        answer = assess(study, design={"flight.descent.base": base.value}, searching=True)
        if answer.outcome is not Outcome.ANSWERED:
            return None
        kept.append(answer.metrics[KEPT].expected)
    return BaseSwing(opened=kept[0], closed=kept[1])
