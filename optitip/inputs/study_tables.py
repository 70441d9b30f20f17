"""The tables of a study file and what stands in each, in SI; the defaults stand here.

Lengths along the tip that are left out (None here) scale with the tip: see ``inputs/defaults.py``.
"""

from enum import Enum
from typing import Self

from pydantic import Field, model_validator

from optitip.inputs.fields import (
    AirTemperature,
    Angle,
    ConductanceOrZero,
    Conductivity,
    Count,
    Emissivity,
    Exponent,
    Factor,
    FilmCoefficient,
    Height,
    Irradiance,
    Length,
    LengthOrZero,
    Mass,
    Name,
    Pressure,
    Reynolds,
    Share,
    Speed,
    Table,
    Temperature,
    Time,
    Wind,
)
from optitip.inputs.log_columns import AlsoRecorded, LogColumns
from optitip.units import UnitError


class OutlineFamily(Enum):
    """The families of outline a study can name."""

    CONE = "cone"
    TANGENT_OGIVE = "tangent ogive"
    VON_KARMAN = "von Karman"
    HAACK_LV = "Haack LV"
    ELLIPSE = "ellipse"
    POWER = "power"
    PARABOLA = "parabola"


class Attitude(Enum):
    """How the tip meets the air on its way down."""

    FORWARD = "forward"
    ACROSS = "across"
    INSIDE = "inside"


class BaseAir(Enum):
    """Whether air reaches the base from inside on the way down and after it."""

    CLOSED = "closed"
    OPEN = "open"


class AltitudeAbove(Enum):
    """What a recorded altitude counts from."""

    GROUND = "ground"
    SEA = "sea"


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
    """Whether air and vapour can leave the pocket."""

    VENTED = "vented"
    SEALED = "sealed"


class Descent(Table):
    """The way down; the rates are as they would be at sea level.

    A record that goes on to landing has its own way down: of this table it needs attitude and base alone.
    ``base`` is open where the nose comes down apart from the airframe: air reaches the tip's base from aft.
    """

    attitude: Attitude = Attitude.ACROSS
    base: BaseAir = BaseAir.CLOSED
    drogue_rate: Speed = 25.0
    main_height: Height = 200.0
    main_rate: Speed = 6.0


class Ascent(Table):
    """A point-mass ascent from a thrust curve; the diameter is the outline's unless given."""

    thrust: Name
    drag: Name
    start_mass: Mass
    propellant_mass: Mass
    diameter: Length | None = None
    rail_length: Length = 3.0
    rail_angle: Angle = 1.5009831567151235  # 86 deg above the horizon

    @model_validator(mode="after")
    def _propellant_is_part_of_the_start(self) -> Self:
        if self.propellant_mass >= self.start_mass:
            raise UnitError("propellant_mass is not below start_mass", "Give the whole mass at lift-off")
        return self


class Pad(Table):
    """The wait before lift-off, and what blows and shines on the tip while it is on the ground.

    ``sun`` is the irradiance across the tip's axis, about 800 W/m2 under a clear sky; it is evened out round
    the circumference. Wind and sun go on in the soak. Energies count from lift-off, not from here.
    """

    wait: Time = 0.0
    wind: Wind = 0.0
    sun: Irradiance = 0.0


class Flight(Table):
    """The flight: a record or an ascent, the site, and what comes after.

    The site's temperature and pressure are the standard atmosphere's there, and the start is at the site's.
    """

    record: Name | None = None
    columns: LogColumns | None = None
    also: tuple[AlsoRecorded, ...] = ()
    ascent: Ascent | None = None
    altitude_above: AltitudeAbove = AltitudeAbove.GROUND
    smoothing: Time = 0.3
    site_altitude: Height = 0.0
    site_temperature: AirTemperature | None = None
    site_pressure: Pressure | None = None
    start_temperature: Temperature | None = None
    pad: Pad = Pad()
    soak: Time = 600.0
    descent: Descent = Descent()

    @model_validator(mode="after")
    def _one_source(self) -> Self:
        if (self.record is None) == (self.ascent is None):
            if self.record is not None:
                raise UnitError("a record stands beside an ascent", "Keep one of the two")
            raise UnitError("there must be either a record or an ascent", 'Write record = "flight.csv"')
        if self.record is None and (self.columns is not None or self.also):
            raise UnitError("columns and also belong to a record", "Drop them, or give the record")
        return self


class Outline(Table):
    """The outer curve: a family, or a measured profile; the tip is its first ``turned_length``."""

    family: OutlineFamily | None = None
    diameter: Length | None = None
    length: Length | None = None
    exponent: Exponent | None = None
    tip_radius: Length | None = None
    profile: Name | None = None
    turned_length: Length | None = None

    @model_validator(mode="after")
    def _family_or_profile(self) -> Self:
        named = self.family is not None and self.diameter is not None and self.length is not None
        if self.profile is None and not named:
            raise UnitError("family, diameter and length belong together", "Give all three, or a profile")
        if self.profile is not None and (self.family or self.diameter or self.length or self.exponent):
            raise UnitError("a profile stands beside a family", "Keep one of the two")
        if self.exponent is not None and self.family not in {OutlineFamily.POWER, OutlineFamily.PARABOLA}:
            raise UnitError("exponent belongs to the families power and parabola", "Drop it")
        return self


class Flow(Table):
    """The state of the boundary layer, or heating tables that replace what would be reckoned of it.

    ``heating_table`` is the expected state; ``heating_low`` and ``heating_high`` beside it give a bracket.
    """

    expected_onset: Reynolds = 1e6
    low_onset: Reynolds = 5e5
    high_onset: Reynolds = 2e6
    trip: Length | None = None
    heating_table: Name | None = None
    heating_low: Name | None = None
    heating_high: Name | None = None
    surroundings: Temperature | None = None

    @model_validator(mode="after")
    def _onsets_in_order(self) -> Self:
        if not self.low_onset <= self.expected_onset <= self.high_onset:
            raise UnitError("the onsets are not in order", "Give low_onset <= expected_onset <= high_onset")
        return self

    @model_validator(mode="after")
    def _the_bracket_has_a_middle(self) -> Self:
        if self.heating_table is None and (self.heating_low or self.heating_high):
            raise UnitError("heating_low and heating_high need heating_table", "Name the expected one too")
        return self


class Plug(Table):
    """The solid tip; an insert of another material ends on a plane normal to the axis."""

    length: Length | None = None
    wall: Length | None = None
    fillet: Length | None = None
    insert: Length | None = None
    material: Name | None = None
    joint: FilmCoefficient = 3000.0

    @model_validator(mode="after")
    def _insert_has_a_material(self) -> Self:
        if (self.insert is None) != (self.material is None):
            raise UnitError("insert and material belong together", "Give both or neither")
        return self


class Band(Table):
    """The thin wall beside the sample, its thickness linear from fore to aft."""

    thickness: Length
    thickness_aft: Length | None = None
    length: Length | None = None


class Base(Table):
    """The thick aft section; ``conductance`` leads to the rest of the nose."""

    thickness: Length | None = None
    solid: bool = False
    bore: Length | None = None
    separate: bool = False
    material: Name | None = None
    joint: FilmCoefficient = 3000.0
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
        return self


class Coating(Table):
    """A layer on the outside, as a resistance and an emissivity."""

    thickness: Length
    conductivity: Conductivity = 0.25
    emissivity: Emissivity = 0.9


class Tip(Table):
    """The free inside of the tip, chained from the nose point aft.

    ``absorptivity`` is the outside's share of sunlight, painted or bare; from memory 0.1 to 0.2 for polished
    aluminium, 0.3 for white paint, 0.9 for black.
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


class Pocket(Table):
    """Room for the sample, inside the band."""

    offset: LengthOrZero | None = None
    length: Length | None = None
    air: PocketAir = PocketAir.VENTED


class Slab(Table):
    """The sample itself; ``share`` is the part of the circumference it covers."""

    thickness: Length
    share: Share = 1.0


class Joint(Table):
    """The contact between wall and sample: a build with its range, or a conductance."""

    build: JointBuild = JointBuild.WETTED
    kind: JointKind = JointKind.PRESSED
    conductance: FilmCoefficient | None = None


class Backing(Table):
    """What lies behind the slab; its far face is insulated."""

    material: Name
    thickness: Length


class Sample(Table):
    """The sample, its pocket, its joint and what is behind it.

    ``start_temperature`` is its own and its backing's, chilled or warmed, when the wait begins or, without
    one, at lift-off; the tip's start unless given.
    """

    material: Name
    slab: Slab
    pocket: Pocket = Pocket()
    joint: Joint = Joint()
    backing: Backing | None = None
    warm_above: Temperature = 333.15
    start_temperature: Temperature | None = None


class Strength(Table):
    """What the walls are judged by."""

    safety_factor: Factor = 1.5
    joint_limit: Temperature | None = None


class Sweep(Table):
    """What is sought and what is free; free numbers are ranges, choices are lists."""

    maximise: tuple[Name, ...] = ("sample.energy_peak", "margin.smallest")
    minimise: tuple[Name, ...] = ("shell.mass",)
    free: dict[str, tuple[str, str]] = Field(default={})
    choices: dict[str, tuple[str | bool, ...]] = Field(default={})
    evaluations: Count = 2000
    seed: int = Field(default=1, ge=0)


class StudyTables(Table):
    """The whole study file."""

    title: str = ""
    flight: Flight | None = None
    outline: Outline
    flow: Flow = Flow()
    tip: Tip
    sample: Sample
    strength: Strength = Strength()
    target: dict[str, str] = Field(default={})
    limits: dict[str, str] = Field(default={})
    sweep: Sweep | None = None

    @model_validator(mode="after")
    def _something_heats(self) -> Self:
        if self.flight is None and self.flow.heating_table is None:
            raise UnitError("there is neither a flight nor flow.heating_table", "Give one of them, or both")
        return self

    @model_validator(mode="after")
    def _one_account_of_the_ground(self) -> Self:
        pad = Pad() if self.flight is None else self.flight.pad
        if self.flow.heating_table is not None and (pad.wind > 0.0 or pad.sun > 0.0):
            problem = "wind or sun of flight.pad stands beside flow.heating_table, which is used as it is"
            raise UnitError(problem, "Drop them there, and put them into the table")
        return self
