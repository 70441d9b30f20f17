"""The tables of a study file for what the tip must bear and how its parts hold together, in SI."""

from enum import Enum
from typing import Self

from pydantic import Field, model_validator

from optitip.inputs.fields import (
    Acceleration,
    Count,
    Factor,
    Force,
    Length,
    Name,
    Share,
    Spin,
    Table,
    Temperature,
    Wind,
)
from optitip.units import UnitError

LEAST_SCREWS = 3


class Place(Enum):
    """Where something inside sits whose temperature counts."""

    PLUG = "plug"  # the fore face of the cavity
    BAND = "band"  # the inner side of the wall
    BASE = "base"  # the inner side of the base
    SAMPLE = "sample"  # slab and backing, the side that looks into the pocket
    POCKET = "pocket"  # the air of the pocket


class Fixing(Table):
    """What holds a part of its own: a thread, screws through the wall into its spigot, or a tie rod.

    ``engagement`` is the length of thread that bears, of the rod's own thread too; of screws it is how far
    their centres lie from the edge of the wall they go through. ``preload`` is the rod's tension as
    assembled, cold. ``material`` is that of screws or rod.
    """

    thread: Name | None = None
    screw: Name | None = None
    screws: Count = 4
    rod: Name | None = None
    preload: Force = 0.0
    engagement: Length = 6e-3
    material: Name = "304"

    @model_validator(mode="after")
    def _one_way(self) -> Self:
        named = [key for key in ("thread", "screw", "rod") if getattr(self, key) is not None]
        if len(named) != 1:
            problem = f"{' and '.join(named)} stand together" if named else "nothing holds the part"
            raise UnitError(problem, 'Give one of them, like thread = "M36x1.5"')
        idle = {"screws": "screw", "preload": "rod"}
        for key, belongs in idle.items():
            if key in self.model_fields_set and belongs not in named:
                raise UnitError(f"{key} belongs to a {belongs}", f"Drop it, or name the {belongs}")
        if self.screws < LEAST_SCREWS:
            raise UnitError(f"{self.screws} screws give way to what bends", "Give three or more, all round")
        return self


class Inside(Table):
    """A thing inside the tip that stands a temperature of its own: an adhesive, a solder, a wire."""

    name: Name
    place: Place
    limit: Temperature


class Factors(Table):
    """Factors of safety by what they stand for; those left out are ``strength.safety_factor``."""

    loads: Factor | None = None
    strain: Factor | None = None
    shakedown: Factor | None = None
    buckling: Factor | None = None
    fixing: Factor | None = None
    slab: Factor | None = None


class Strength(Table):
    """What the tip must bear, and what it is judged by.

    ``gust`` blows across the flight path; ``lateral_acceleration`` acts while it flies. ``hand_load`` pushes
    the nose point sideways at rest, ``landing_load`` at touchdown (left out: landing isn't covered). A tip
    under a heating table alone meets the hand's load and no other.
    ``snatch`` pulls the tip fore as the parachute comes out. ``spin`` turns it about its axis.
    ``coupler_clearance`` is the room all round between the base's aft end and what it slides into.
    ``flights`` is how many times this tip flies in all;
    ``strain_range`` what the metal stands of strain to and fro as often.
    """

    safety_factor: Factor = 1.5
    factors: Factors = Factors()
    joint_limit: Temperature | None = None
    gust: Wind = 10.0
    lateral_acceleration: Acceleration = 50.0
    hand_load: Force = 100.0
    snatch: Acceleration = 500.0
    landing_load: Force | None = None
    spin: Spin = 0.0
    coupler_clearance: Length | None = None
    strain_range: Share = 0.01
    flights: Count = 1
    inside: tuple[Inside, ...] = Field(default=())

    def factor(self, name: str) -> float:
        """Return the factor of safety of a name in ``Factors``."""
        own: float | None = getattr(self.factors, name)
        return self.safety_factor if own is None else own
