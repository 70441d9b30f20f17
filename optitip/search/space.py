"""The space of a study's free keys: a design as text on one side, a point of the unit cube on the other."""

import hashlib
import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np

from optitip.arrays import FloatArray
from optitip.errors import Mistake, UserMistakes
from optitip.inputs.swept import free_range
from optitip.metrics.values import Design
from optitip.units import UnitError, scale, split_quantity

DIGITS = 5
Option: TypeAlias = str | bool


@dataclass(frozen=True, slots=True, kw_only=True)
class FreeNumber:
    """A number that may lie anywhere between two bounds, in the unit the lower one was written in."""

    key: str
    low: float
    high: float
    unit: str

    def text_at(self, share: float) -> str:
        """Return the value at ``share`` (0..1) of the range, to five digits and never past a bound."""
        value = self.low + min(max(share, 0.0), 1.0) * (self.high - self.low)
        rounded = float(f"{value:.{DIGITS}g}")
        inside = min(max(rounded, self.low), self.high)
        shown = f"{inside:.{DIGITS}g}" if inside == rounded else repr(inside)
        return f"{shown} {self.unit}".rstrip()

    def share_of(self, text: str) -> float:
        """Return where in the range ``text`` lies, 0..1."""
        value, unit = split_quantity(text)
        if unit != self.unit:
            value = value * scale(unit, self.unit)[1]
        return (value - self.low) / (self.high - self.low)


class Space:
    """All designs that the free numbers and choices span, numbers before choices.

    >>> space = Space({"tip.band.thickness": ("0.6 mm", "2.6 mm")}, {"tip.material": ("304", "6061-T6")})
    >>> design = space.design_at([0.25, 0.9])
    >>> design["tip.band.thickness"], design["tip.material"]
    ('1.1 mm', '6061-T6')
    """

    def __init__(
        self, free: Mapping[str, tuple[str, str]], choices: Mapping[str, tuple[Option, ...]]
    ) -> None:
        """Check the ranges and lists, all of them before complaining."""
        mistakes = list(_mistakes(free, choices))
        if mistakes:
            raise UserMistakes(mistakes)
        self.numbers = tuple(_free_number(key, *bounds) for key, bounds in free.items())
        self.choices = {key: tuple(options) for key, options in choices.items()}

    @property
    def dimension(self) -> int:
        """Return how many free keys there are."""
        return len(self.numbers) + len(self.choices)

    @property
    def keys(self) -> tuple[str, ...]:
        """Return the free keys in the order of a point's entries."""
        return (*(number.key for number in self.numbers), *self.choices)

    def design_at(self, point: Sequence[float] | FloatArray) -> dict[str, str | bool]:
        """Return the design at a ``point`` of the unit cube; a choice takes equal shares of its side."""
        if len(point) != self.dimension:
            raise ValueError(f"a point has {self.dimension} entries, got {len(point)}")
        design: dict[str, str | bool] = {}
        for number, share in zip(self.numbers, point, strict=False):
            design[number.key] = number.text_at(float(share))
        for (key, options), share in zip(self.choices.items(), point[len(self.numbers) :], strict=True):
            design[key] = options[min(max(int(float(share) * len(options)), 0), len(options) - 1)]
        return design

    def point_of(self, design: Design) -> FloatArray:
        """Return the point of a design: shares of the ranges, then the middles of the choices' shares."""
        shares = [number.share_of(str(design[number.key])) for number in self.numbers]
        for key, options in self.choices.items():
            shares.append((options.index(design[key]) + 0.5) / len(options))
        return np.array(shares)

    def points_of(self, designs: Sequence[Design]) -> FloatArray:
        """Return the points of designs, shape (n, dimension)."""
        return np.array([self.point_of(design) for design in designs]).reshape(-1, self.dimension)


def design_id(design: Design) -> str:
    """Return the short name of a design: the same for the same values, whatever their order.

    >>> design_id({"a": "1 mm", "b": "x"}) == design_id({"b": "x", "a": "1 mm"})
    True
    """
    canonical = json.dumps(dict(design), sort_keys=True, ensure_ascii=False, separators=(",", ":"))
    return hashlib.blake2b(canonical.encode(), digest_size=6).hexdigest()


def _free_number(key: str, low: str, high: str) -> FreeNumber:
    bottom, top, unit = free_range(low, high)
    return FreeNumber(key=key, low=bottom, high=top, unit=unit)


def _mistakes(
    free: Mapping[str, tuple[str, str]], choices: Mapping[str, tuple[Option, ...]]
) -> Iterator[Mistake]:
    if not free and not choices:
        yield Mistake("sweep", "nothing is free", "Give a range under sweep.free or a list under choices")
    for key, (low, high) in free.items():
        try:
            _free_number(key, low, high)
        except UnitError as error:
            yield Mistake(f"sweep.free.'{key}'", error.problem, error.remedy)
    for key, options in choices.items():
        place = f"sweep.choices.'{key}'"
        if key in free:
            yield Mistake(place, "the key is a free number as well", "Keep one of the two")
        if not options:
            yield Mistake(place, "the list is empty", "Name at least one option")
        if len(set(options)) != len(options):
            yield Mistake(place, "an option stands there twice", "Name each option once")
