"""What a material asks of the lathe: how thin a wall it stands, how hard it is to cut."""

from dataclasses import dataclass

from optitip.inputs.material_records import TurningRecord


@dataclass(frozen=True, slots=True, kw_only=True)
class Cutting:
    """Kienzle's specific cutting force [Pa] at a chip 1 mm wide and 1 mm thick, and its exponent [1]."""

    force: float
    exponent: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Machining:
    """The thinnest wall [m] that is turned, the one a shop asks for, and the force where it is known."""

    thinnest: float
    advised: float
    cutting: Cutting | None = None


def machining_of(record: TurningRecord | None) -> Machining | None:
    """Return what a material's file says of the lathe, if it does."""
    if record is None:
        return None
    cut = record.cutting
    return Machining(
        thinnest=record.wall.thinnest,
        advised=record.wall.advised,
        cutting=None if cut is None else Cutting(force=cut.force, exponent=cut.exponent),
    )
