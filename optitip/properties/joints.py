"""Contact between the wall and the sample: the builds a study can name, each with its range."""

from dataclasses import dataclass

from optitip.inputs.tip_tables import JointBuild


@dataclass(frozen=True, slots=True, kw_only=True)
class JointRange:
    """A conductance [W/(m2 K)] as it may turn out, and the temperature [K] the joint bears, if limited."""

    low: float
    expected: float
    high: float
    source: str
    limit: float | None = None


# Metal on food: 250-650 in contact cooking of patties, 150-1000 in all; greased metal 1e4-1e5: from memory.
_CONTACT = "contact cooking of food on metal, 150-1000 W/(m2 K), from memory"
JOINT_RANGES = {
    JointBuild.DRY: JointRange(low=150.0, expected=250.0, high=400.0, source=_CONTACT),
    JointBuild.WETTED: JointRange(low=250.0, expected=400.0, high=650.0, source=_CONTACT),
    JointBuild.SPRUNG: JointRange(low=400.0, expected=650.0, high=1000.0, source=_CONTACT),
    JointBuild.PASTE: JointRange(
        low=2000.0,
        expected=5000.0,
        high=10000.0,
        source="greased metal, lower end, from memory; silicone pastes to 180 degC, from memory",
        limit=453.15,
    ),
    JointBuild.EPOXY: JointRange(
        low=1000.0,
        expected=2000.0,
        high=4000.0,
        source="k/thickness of 0.2 W/(m K) over 0.2 to 0.05 mm; room-cured, Tg + 20 K, from memory",
        limit=353.15,
    ),
}
