"""Contact between the wall and the sample: the builds a study can name, each with its range."""

from dataclasses import dataclass

from optitip.inputs.tip_tables import JointBuild


@dataclass(frozen=True, slots=True, kw_only=True)
class JointRange:
    """A conductance [W/(m2 K)] as it may turn out, and the temperature [K] the joint bears, if limited.

    ``pressure`` [Pa] is that of contact which the conductance takes for granted, ``travel`` [m] how far what
    presses follows a sample that draws off the wall.
    """

    low: float
    expected: float
    high: float
    source: str
    pressure: float
    travel: float
    limit: float | None = None


# Metal on food: 250-650 in contact cooking of patties, 150-1000 in all; greased metal 1e4-1e5: from memory.
# Pressures of contact (a patty's press some kPa, a soft spring ten) and travels are choices.
_CONTACT = "contact cooking of food on metal, 150-1000 W/(m2 K), from memory"
JOINT_RANGES = {
    JointBuild.DRY: JointRange(
        low=150.0, expected=250.0, high=400.0, source=_CONTACT, pressure=2e3, travel=0.3e-3
    ),
    JointBuild.WETTED: JointRange(
        low=250.0, expected=400.0, high=650.0, source=_CONTACT, pressure=2e3, travel=0.3e-3
    ),
    JointBuild.SPRUNG: JointRange(
        low=400.0, expected=650.0, high=1000.0, source=_CONTACT, pressure=10e3, travel=1.5e-3
    ),
    JointBuild.PASTE: JointRange(
        low=2000.0,
        expected=5000.0,
        high=10000.0,
        source="greased metal, lower end, from memory; silicone pastes to 180 degC, from memory",
        pressure=5e3,
        travel=0.1e-3,
        limit=453.15,
    ),
    JointBuild.EPOXY: JointRange(
        low=1000.0,
        expected=2000.0,
        high=4000.0,
        source="k/thickness of 0.2 W/(m K) over 0.2 to 0.05 mm; room-cured, Tg + 20 K, from memory",
        pressure=0.0,
        travel=0.0,
        limit=353.15,
    ),
}
