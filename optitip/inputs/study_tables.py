"""The tables of a study file and what stands in each, in SI; the defaults stand here.

Those of the tip and its sample: ``inputs/tip_tables.py``.
"""

from enum import Enum
from typing import Self

from pydantic import Field, model_validator

from optitip.inputs.fields import (
    AirTemperature,
    Angle,
    Burn,
    Count,
    Exponent,
    Height,
    Irradiance,
    Length,
    LengthOrZero,
    Mass,
    Name,
    NormalForceSlope,
    PeakMach,
    Pressure,
    Ratio,
    Reynolds,
    Roughness,
    Speed,
    Table,
    Temperature,
    Time,
    Wind,
)
from optitip.inputs.log_columns import AlsoRecorded, LogColumns
from optitip.inputs.strength_tables import Strength
from optitip.inputs.tip_tables import Sample, Tip
from optitip.inputs.turning_tables import Turning
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


class TurbulentLaw(Enum):
    """The law of the turbulent film: Eckert's reference enthalpy, or Van Driest's second law beside it."""

    REFERENCE_ENTHALPY = "reference enthalpy"
    VAN_DRIEST = "van driest"


class AltitudeAbove(Enum):
    """What a recorded altitude counts from."""

    GROUND = "ground"
    SEA = "sea"


class LedBy(Enum):
    """What proposes the designs of a search: which of the two does is chosen by what an evaluation costs."""

    BY_COST = "by cost"
    GENETIC = "genetic"
    SURROGATE = "surrogate"


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


class Varied(Table):
    """The same vehicle flown to another peak Mach number, or with another length of burn from lift-off.

    What is left out stays as it was. The thrust is scaled and its curve stretched; drag and the vehicle
    without its propellant stay, and propellant is as much as the impulse takes. Of a record, thrust and drag
    per mass are read off it, and the way down is the study's ``descent``.
    """

    peak_mach: PeakMach | None = None
    burn: Burn | None = None

    @model_validator(mode="after")
    def _something_is_varied(self) -> Self:
        if self.peak_mach is None and self.burn is None:
            raise UnitError("neither peak_mach nor burn is given", "Give one of them, or drop varied")
        return self


class Flight(Table):
    """The flight: a record or an ascent, the site, and what comes after.

    The site's temperature and pressure are the standard atmosphere's there, and the start is at the site's.
    Of a record: ``smoothing`` is a time constant, ``gap`` the longest that is bridged above Mach 0.5, ``lag``
    the time constant of its barometer, ``spikes`` how many times the spread of its neighbours a sample may
    stand off them (0: any). ``rail_angle`` is how steeply it left the pad, above the horizon: it tells the
    speed where no sensor does. It matters to a record that is fused, not to one speed that is clean.
    """

    record: Name | None = None
    columns: LogColumns | None = None
    also: tuple[AlsoRecorded, ...] = ()
    ascent: Ascent | None = None
    varied: Varied | None = None
    altitude_above: AltitudeAbove = AltitudeAbove.GROUND
    smoothing: Time = 0.3
    gap: Time = 4.0
    lag: Time = 0.0
    spikes: Ratio = 2.0
    rail_angle: Angle = 1.5009831567151235  # 86 deg
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
        names = [self.record, *(one.record for one in self.also)]
        if twice := next((name for name in names if names.count(name) > 1), None):
            raise UnitError(f"'{twice}' is named twice", "Name each recorder's file once")
        return self


class OutlineShape(Table):
    """The outer curve of a whole nose: a family, or a measured profile."""

    family: OutlineFamily | None = None
    diameter: Length | None = None
    length: Length | None = None
    exponent: Exponent | None = None
    tip_radius: Length | None = None
    profile: Name | None = None

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


class Outline(OutlineShape):
    """The outer curve; the tip is its first ``turned_length``.

    ``given`` is the outline the vehicle flew with, which drag and stability are compared with; left out, it
    is the study's own as written, also for the designs of its sweep.
    """

    turned_length: Length | None = None
    given: OutlineShape | None = None


class Vehicle(Table):
    """The whole vehicle as it flew, with the part that the tip replaces; stations from the given nose point.

    Take it as it is where stability counts: at lift-off with all its propellant. ``normal_force_slope`` is
    per radian, on the circle of the outline's diameter; without it a change of the nose's centre of pressure
    counts whole, which is a bound. ``ballast_station`` is the tip's aft end unless given.
    """

    mass: Mass | None = None
    centre_of_mass: Length | None = None
    centre_of_pressure: Length | None = None
    normal_force_slope: NormalForceSlope | None = None
    replaced_mass: Mass | None = None
    replaced_centre_of_mass: Length | None = None
    ballast_station: LengthOrZero | None = None

    @model_validator(mode="after")
    def _weighed_as_a_whole(self) -> Self:
        four = (self.mass, self.centre_of_mass, self.replaced_mass, self.replaced_centre_of_mass)
        if any(one is None for one in four):
            if any(one is not None for one in (*four, self.centre_of_pressure, self.ballast_station)):
                raise UnitError(
                    "mass, centre_of_mass, replaced_mass and replaced_centre_of_mass belong together",
                    "Give all four, or weigh nothing",
                )
            return self
        mass, centre, replaced, its_centre = (float(one or 0.0) for one in four)
        if replaced >= mass:
            raise UnitError("replaced_mass is not below mass", "Give the mass of the whole vehicle")
        if replaced * its_centre >= mass * centre:
            problem = "without the replaced part the vehicle would balance ahead of its nose point"
            raise UnitError(problem, "Measure all stations from the given nose point, positive aft")
        return self


_OF_THE_LAYER = ("expected_onset", "low_onset", "high_onset", "trip", "turbulent_law", "roughness")


class Flow(Table):
    """The state of the boundary layer, or heating tables that replace what would be reckoned of it.

    The onsets are Reynolds numbers at the laminar layer's edge by arc length, the air slowed by a blunt tip's
    shock included: lower than those of a sharp tip or of the free stream at the same place.
    ``heating_table`` is the expected state; ``heating_low`` and ``heating_high`` beside it give a bracket.
    ``roughness`` is the height of the surface's own, peak to valley; 0 is smooth.
    """

    expected_onset: Reynolds = 1e6
    low_onset: Reynolds = 5e5
    high_onset: Reynolds = 2e6
    trip: Length | None = None
    turbulent_law: TurbulentLaw = TurbulentLaw.REFERENCE_ENTHALPY
    roughness: Roughness = 0.0
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
    def _the_table_is_used_as_it_is(self) -> Self:
        idle = [key for key in _OF_THE_LAYER if key in self.model_fields_set]
        if self.heating_table is not None and idle:
            problem = f"{' and '.join(idle)} would change nothing beside heating_table"
            raise UnitError(problem, "The table is used as it is: leave the rest out")
        return self

    @model_validator(mode="after")
    def _the_bracket_has_a_middle(self) -> Self:
        if self.heating_table is None and (self.heating_low or self.heating_high):
            raise UnitError("heating_low and heating_high need heating_table", "Name the expected one too")
        return self


class Sweep(Table):
    """What is sought and what is free; free numbers are ranges, choices are lists.

    ``sets`` are choices of several keys that change together: under a name of one's own, options with names,
    each a table of study keys with their values.
    ``lead``: what proposes designs once the opening has been evaluated, by what they cost unless named.
    ``stalled``: how many designs may come without the front growing before the search ends, 0 for as many
    as there are. ``time_limit``: how long the evaluation of one design may take, in working time, 0 for ever.
    """

    maximise: tuple[Name, ...] = ("sample.energy_peak", "margin.smallest")
    minimise: tuple[Name, ...] = ("shell.mass",)
    free: dict[str, tuple[str, str]] = Field(default={})
    choices: dict[str, tuple[str | bool, ...]] = Field(default={})
    sets: dict[str, dict[str, dict[str, object]]] = Field(default={})
    evaluations: Count = 2000
    lead: LedBy = LedBy.BY_COST
    stalled: int = Field(default=0, ge=0)
    time_limit: Time = 120.0
    seed: int = Field(default=1, ge=0)

    @property
    def options(self) -> dict[str, tuple[str | bool, ...]]:
        """Return the options of each choice, those of the sets by their names."""
        return {**self.choices, **{name: tuple(options) for name, options in self.sets.items()}}

    @property
    def keys(self) -> frozenset[str]:
        """Return the study keys that some design of the sweep sets."""
        together = (key for options in self.sets.values() for values in options.values() for key in values)
        return frozenset([*self.free, *self.choices, *together])


class StudyTables(Table):
    """The whole study file."""

    title: str = ""
    flight: Flight | None = None
    outline: Outline
    flow: Flow = Flow()
    tip: Tip
    sample: Sample
    strength: Strength = Strength()
    turning: Turning = Turning()
    vehicle: Vehicle | None = None
    target: dict[str, str] = Field(default={})
    limits: dict[str, str] = Field(default={})
    sweep: Sweep | None = None

    @model_validator(mode="after")
    def _something_heats(self) -> Self:
        if self.flight is None and self.flow.heating_table is None:
            raise UnitError("there is neither a flight nor flow.heating_table", "Give one of them, or both")
        return self

    @model_validator(mode="after")
    def _the_flight_heats(self) -> Self:
        varied = None if self.flight is None else self.flight.varied
        if varied is not None and self.flow.heating_table is not None:
            problem = "flight.varied stands beside flow.heating_table, which is used as it is"
            raise UnitError(problem, "Drop one of the two: the table doesn't follow the flight")
        return self

    @model_validator(mode="after")
    def _one_account_of_the_ground(self) -> Self:
        pad = Pad() if self.flight is None else self.flight.pad
        if self.flow.heating_table is not None and (pad.wind > 0.0 or pad.sun > 0.0):
            problem = "wind or sun of flight.pad stands beside flow.heating_table, which is used as it is"
            raise UnitError(problem, "Drop them there, and put them into the table")
        return self
