"""The tables of a study file for the tip and its sample, in SI; the defaults stand here.

Lengths along the tip that are left out (None here) scale with the tip: see ``inputs/defaults.py``.
"""

from enum import Enum
from typing import Self

from pydantic import model_validator

from optitip.inputs.fields import (
    ConductanceOrZero,
    Conductivity,
    Emissivity,
    FilmCoefficient,
    FilmCoefficientOrZero,
    Force,
    Length,
    LengthOrZero,
    Name,
    Offset,
    Share,
    Stress,
    Table,
    Temperature,
)
from optitip.inputs.strength_tables import Fixing
from optitip.units import UnitError


class JointBuild(Enum):
    """How the sample is brought against the wall; each has a conductance with a range."""

    DRY = "dry"
    WETTED = "wetted"
    SPRUNG = "sprung"
    PASTE = "paste"
    EPOXY = "epoxy"


class JointKind(Enum):
    """Whether the sample follows the wall as the hot shell grows; pressed and bonded do, and answer alike."""

    PRESSED = "pressed"
    CAPTIVE = "captive"
    BONDED = "bonded"


class PocketAir(Enum):
    """How air and vapour leave the pocket: freely, through a vent, or not; sealed, nothing boils in it."""

    OPEN = "open"
    VENTED = "vented"
    SEALED = "sealed"


class Seat(Enum):
    """What the wall has for the sample: its own curve, or a flat milled into it for a flat coupon."""

    CURVED = "curved"
    FLAT = "flat"


class Opens(Enum):
    """What comes off to take the sample out: a base of its own, or nothing, so that it leaves by its hole."""

    BASE = "base"
    NONE = "none"


class BoringBar(Enum):
    """The stiffest bar there is to bore the cavity with."""

    STEEL = "steel"
    HEAVY_METAL = "heavy metal"
    CARBIDE = "carbide"
    DAMPED = "damped"


class Plug(Table):
    """The solid tip; an insert of another material ends on a plane normal to the axis.

    ``fit`` is how much larger in radius what enters is than what it enters: above 0 it presses, below 0 it
    has a gap, at 0 the parts are as one. ``fixing`` holds the insert.
    """

    length: Length | None = None
    wall: Length | None = None
    fillet: Length | None = None
    insert: Length | None = None
    material: Name | None = None
    joint: FilmCoefficient = 3000.0
    fit: Offset = 0.0
    fixing: Fixing | None = None

    @model_validator(mode="after")
    def _insert_has_a_material(self) -> Self:
        if (self.insert is None) != (self.material is None):
            raise UnitError("insert and material belong together", "Give both or neither")
        if (self.fit != 0.0 or self.fixing is not None) and self.insert is None:
            raise UnitError("fit and fixing belong to an insert", "Give insert and material, or drop them")
        if self.fixing is not None and self.fixing.thread is None:
            raise UnitError("an insert is held by a thread of its own stud", 'Write thread = "M8"')
        return self


class Band(Table):
    """The thin wall beside the sample, its thickness linear from fore to aft."""

    thickness: Length
    thickness_aft: Length | None = None
    length: Length | None = None


class Base(Table):
    """The thick aft section; ``conductance`` leads to the rest of the nose.

    ``fit`` is as that of the plug; ``fixing`` holds a base of its own.
    """

    thickness: Length | None = None
    solid: bool = False
    bore: Length | None = None
    separate: bool = False
    material: Name | None = None
    joint: FilmCoefficient = 3000.0
    fit: Offset = 0.0
    fixing: Fixing | None = None
    conductance: ConductanceOrZero = 0.5
    nose_temperature: Temperature | None = None

    @model_validator(mode="after")
    def _shape_is_one(self) -> Self:
        if self.solid and self.thickness is not None:
            raise UnitError("a solid base has no thickness", "Drop thickness, or solid = true")
        if not self.solid and self.bore is not None:
            raise UnitError("bore belongs to a solid base", "Add solid = true, or drop bore")
        if self.material is not None and not self.separate:
            raise UnitError("another material needs a base of its own", "Add separate = true")
        if (self.fit != 0.0 or self.fixing is not None) and not self.separate:
            raise UnitError("fit and fixing belong to a base of its own", "Add separate = true")
        return self


class Coating(Table):
    """A layer on the outside, as a resistance and an emissivity."""

    thickness: Length
    conductivity: Conductivity = 0.25
    emissivity: Emissivity = 0.9


class Tip(Table):
    """The free inside of the tip, chained from the nose point aft.

    ``absorptivity`` is the outside's share of sunlight, painted or bare; from memory 0.1 to 0.2 for polished
    aluminium, 0.3 for white paint, 0.9 for black. ``opens`` says what comes off again after the flight,
    ``boring`` with which bar the cavity is bored.
    """

    material: Name
    plug: Plug = Plug()
    fore_taper: Length | None = None
    band: Band
    aft_taper: Length | None = None
    base: Base = Base()
    coating: Coating | None = None
    emissivity: Emissivity | None = None
    absorptivity: Emissivity = 0.3
    opens: Opens = Opens.BASE
    boring: BoringBar = BoringBar.DAMPED


class Pocket(Table):
    """Room for the sample, inside the band; ``film`` is that of the air shut in, on all its faces.

    ``vent`` is the diameter of the hole that a vented pocket breathes through.
    """

    offset: LengthOrZero | None = None
    length: Length | None = None
    air: PocketAir = PocketAir.VENTED
    vent: Length = 1.5e-3
    film: FilmCoefficientOrZero = 5.0  # still air in small rooms: common practice, no source


class Slab(Table):
    """The sample itself; ``share`` is the part of the circumference it covers.

    ``strength`` is the stress that crushes it, its material's unless given.
    """

    thickness: Length
    share: Share = 1.0
    strength: Stress | None = None


class Joint(Table):
    """The contact between wall and sample: a build with its range, or a conductance.

    ``force`` presses the sample outward, all round; ``travel`` is how far what presses follows it.
    """

    build: JointBuild = JointBuild.WETTED
    kind: JointKind = JointKind.PRESSED
    conductance: FilmCoefficient | None = None
    force: Force | None = None
    travel: Length | None = None


class Backing(Table):
    """What lies behind the slab; its far face is insulated."""

    material: Name
    thickness: Length


class Sample(Table):
    """The sample, its pocket, its joint and what is behind it.

    ``start_temperature`` is its own and its backing's, chilled or warmed, when the wait begins or, without
    one, at lift-off; the tip's start unless given. ``wires`` is the diameter of the bundle that leaves the
    pocket through the base, ``probe`` that of a probe put straight through the base to the slab's back.
    """

    material: Name
    slab: Slab
    pocket: Pocket = Pocket()
    joint: Joint = Joint()
    backing: Backing | None = None
    warm_above: Temperature = 333.15
    start_temperature: Temperature | None = None
    seat: Seat = Seat.CURVED
    wires: Length | None = None
    probe: Length | None = None
