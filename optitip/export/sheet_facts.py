"""What a part's sheets say in words beside its shape: material, stock, tolerances, notes."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Wall:
    """A wall with a tolerance of its own: thickness normal to the outside under ``station``, and +- [m]."""

    station: float
    thickness: float
    tolerance: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetFacts:
    """The texts of a sheet; an empty one is left for a hand to fill in.

    ``revision`` is the study's fingerprint with the design's name. ``walls`` are those of this part.
    """

    study: str
    design: str
    revision: str
    material: str
    mass: str = ""
    coating: str = "none"
    finish: str = ""
    tolerance: str = "ISO 2768-m"
    stock: str = ""
    drawn_by: str = ""
    walls: tuple[Wall, ...] = ()
    notes: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
