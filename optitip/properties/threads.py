"""Screw threads by their designation, ISO metric and Unified: diameters, and the areas that carry.

Diameters and the area that tears are by basic sizes, the areas that strip by the worst of medium tolerances
(6g in 6H): they are a quarter to a third smaller than basic sizes make them on small and on fine threads.
"""

import math
import re
from dataclasses import dataclass
from enum import Enum
from itertools import pairwise

from optitip.units import UnitError

INCH = 0.0254
# mm of diameter: mm of pitch; ISO 261, coarse series (from memory; M1.6 to M6 read in tables of ISO 965)
COARSE = {
    1.6: 0.35, 1.8: 0.35, 2.0: 0.4, 2.2: 0.45, 2.5: 0.45, 3.0: 0.5, 3.5: 0.6, 4.0: 0.7, 5.0: 0.8, 6.0: 1.0,
    7.0: 1.0, 8.0: 1.25, 9.0: 1.25, 10.0: 1.5, 11.0: 1.5, 12.0: 1.75, 14.0: 2.0, 16.0: 2.0, 18.0: 2.5, 20.0:
    2.5, 22.0: 2.5, 24.0: 3.0, 27.0: 3.0, 30.0: 3.5, 33.0: 3.5, 36.0: 4.0, 39.0: 4.0, 42.0: 4.5, 45.0: 4.5,
    48.0: 5.0, 52.0: 5.0, 56.0: 5.5, 60.0: 5.5, 64.0: 6.0,
}  # fmt: skip

# size: threads an inch; ASME B1.1 (UNF read in a table of it, UNC in part, the rest from memory)
UNC = {
    "#1": 64, "#2": 56, "#3": 48, "#4": 40, "#5": 40, "#6": 32, "#8": 32, "#10": 24, "#12": 24, "1/4": 20,
    "5/16": 18, "3/8": 16, "7/16": 14, "1/2": 13, "9/16": 12, "5/8": 11, "3/4": 10, "7/8": 9, "1": 8, "1 1/8":
    7, "1 1/4": 7, "1 3/8": 6, "1 1/2": 6,
}  # fmt: skip
UNF = {
    "#0": 80, "#1": 72, "#2": 64, "#3": 56, "#4": 48, "#5": 44, "#6": 40, "#8": 36, "#10": 32, "#12": 28,
    "1/4": 28, "5/16": 24, "3/8": 24, "7/16": 20, "1/2": 20, "9/16": 18, "5/8": 18, "3/4": 16, "7/8": 14, "1":
    12, "1 1/8": 12, "1 1/4": 12, "1 3/8": 12, "1 1/2": 12,
}  # fmt: skip

_LIKE = "like 'M6', 'M30x1.5', '1/4-20 UNC', '#10-32 UNF' or '2.5-16 UN'"
_METRIC = re.compile(
    r"M\s*(?P<size>\d+(?:\.\d+)?)\s*(?:[xX×*]\s*(?P<pitch>\d+(?:\.\d+)?))?"
    r"(?:\s*-\s*\d[A-Za-z][\dA-Za-z/ ]*)?",
    re.IGNORECASE,
)
_UNIFIED = re.compile(
    r"(?P<size>(?:#|no\.?)\s*\d+|\d+(?:\s+|-)\d+/\d+|\d+/\d+|\d*\.?\d+)\s*(?:\"|in(?:ch)?)?"
    r"(?:\s*-\s*(?P<count>\d+(?:\.\d+)?))?\s*-?\s*(?P<series>UNC|UNF|UN)(?:\s*-?\s*[123][AB]?)?",
    re.IGNORECASE,
)


class Family(Enum):
    """The two families of threads; both have a profile of 60 degrees."""

    METRIC = "ISO metric"
    UNIFIED = "Unified"


@dataclass(frozen=True, slots=True, kw_only=True)
class Thread:
    """A thread of basic sizes.

    Args:
        designation: as it is written on a drawing.
        family: whose stress area it has.
        major: diameter over the crests of the external thread [m].
        pitch: [m].
    """

    designation: str
    family: Family
    major: float
    pitch: float

    @property
    def pitch_diameter(self) -> float:
        """Return d - 0.649519 P [m] (ISO 724; the same in ASME B1.1)."""
        return self.major - 0.649519 * self.pitch

    @property
    def minor(self) -> float:
        """Return d - 1.082532 P [m], the internal thread's bore (ISO 724; the same in ASME B1.1)."""
        return self.major - 1.082532 * self.pitch

    @property
    def tap_drill(self) -> float:
        """Return d - P [m], what is drilled before it is tapped (ISO 2306 for metric threads, from memory).

        >>> round(thread_of("M3").tap_drill * 1e3, 6), round(thread_of("1/4-20 UNC").tap_drill / INCH, 6)
        (2.5, 0.2)
        """
        return self.major - self.pitch

    @property
    def root(self) -> float:
        """Return d - 1.226869 P [m], the external thread's rounded root (ISO 68-1, from memory)."""
        return self.major - 1.226869 * self.pitch

    @property
    def tensile_area(self) -> float:
        """Return the area [m2] that a pulled screw has: pi/4 (d - 0.9382 P)^2.

        Unified: pi/4 (d - 0.9743 P)^2.
        Source: ISO 898-1 (M6: 20.1 mm2); ASME B1.1 (1/4-20: 0.0318 in2).
        """
        depth = 0.9382 if self.family is Family.METRIC else 0.9743
        return math.pi / 4.0 * (self.major - depth * self.pitch) ** 2

    def external_shear_area(self, length: float) -> float:
        """Return the area [m2] that strips from the external thread, at the internal one's bore.

        A = pi L D1/P (P/2 + (d2 - D1)/sqrt(3)), D1 at its largest, d2 at its smallest.

        Args:
            length: L of full engagement [m].

        Valid for tolerances 6g in 6H; a Unified thread is taken at those too (2A in 2B: 2 % more). An
        engagement beyond 1.5 diameters adds less than this says, as the first turns carry most (common
        practice, no source).
        Source: FED-STD-H28/2 (form as in handbooks that quote it); tolerances: ISO 965-1 (from memory).

        M6, 6 mm engaged: 51.875 mm2 in a published table.

        >>> round(thread_of("M6").external_shear_area(0.006) * 1e6, 1)
        52.2
        """
        bore = self.minor + self._tolerances.bore
        depth = (self.pitch_diameter - self._tolerances.external - bore) / math.sqrt(3.0)
        return math.pi * length * bore / self.pitch * (0.5 * self.pitch + depth)

    def internal_shear_area(self, length: float) -> float:
        """Return the area [m2] that strips from the internal thread, at the external one's crests.

        A = pi L d/P (P/2 + (d - D2)/sqrt(3)), d at its smallest, D2 at its largest.

        Args:
            length: L of full engagement [m].

        Valid for tolerances 6g in 6H; a Unified thread is taken at those too (2A in 2B: 3 % more).
        Source: FED-STD-H28/2 (form as in handbooks that quote it); tolerances: ISO 965-1 (from memory).

        M6, 6 mm engaged: 73.145 mm2 in a published table.

        >>> round(thread_of("M6").internal_shear_area(0.006) * 1e6, 1)
        73.6
        """
        crests = self.major - self._tolerances.crests
        depth = (crests - self.pitch_diameter - self._tolerances.internal) / math.sqrt(3.0)
        return math.pi * length * crests / self.pitch * (0.5 * self.pitch + depth)

    @property
    def _tolerances(self) -> "_Tolerances":
        return _medium(self.major * 1e3, pitch=self.pitch * 1e3)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Tolerances:
    """By how much diameters may be off basic [m]: crests and flanks outside, bore and flanks inside."""

    crests: float
    external: float
    bore: float
    internal: float


def _medium(major: float, *, pitch: float) -> _Tolerances:
    """Return the tolerances 6g and 6H of a thread in mm, in metres."""
    middle = next((math.sqrt(a * b) for a, b in pairwise(_DIAMETERS) if major <= b), major)
    allowance = 15.0 + 11.0 * pitch  # micrometres, as all below
    grade = 90.0 * pitch**0.4 * middle**0.1
    bore = 433.0 * pitch - 190.0 * pitch**1.22 if pitch <= 0.8 else 230.0 * pitch**0.7
    return _Tolerances(
        crests=1e-6 * (allowance + 180.0 * pitch ** (2.0 / 3.0) - 3.15 / math.sqrt(pitch)),
        external=1e-6 * (allowance + grade),
        bore=1e-6 * bore,
        internal=1e-6 * 1.32 * grade,
    )


_DIAMETERS = (
    0.99,
    1.4,
    2.8,
    5.6,
    11.2,
    22.4,
    45.0,
    90.0,
    180.0,
    355.0,
)  # mm, ends of the ranges of ISO 965-1


def thread_of(text: str) -> Thread:
    """Return the thread that a designation names; UnitError with problem and remedy if it names none.

    M and a diameter in millimetres, with a pitch unless it is coarse; or a Unified size (number, fraction,
    decimal inch), threads an inch and series. A tolerance class behind is allowed and left out.

    >>> one = thread_of("M30x1.5")
    >>> round(one.major * 1e3, 6), round(one.pitch * 1e3, 6), round(one.minor * 1e3, 3)
    (30.0, 1.5, 28.376)
    >>> round(thread_of("#8-36 UNF").major / 0.0254, 6)
    0.164
    """
    plain = " ".join(text.replace(",", ".").split())
    if metric := _METRIC.fullmatch(plain):
        return _checked(_metric(plain, metric))
    if unified := _UNIFIED.fullmatch(plain):
        return _checked(_unified(plain, unified))
    raise UnitError(f"'{text}' is no thread", f"Write one {_LIKE}")


def _metric(text: str, match: re.Match[str]) -> Thread:
    size = float(match["size"])
    pitch = float(match["pitch"]) if match["pitch"] else COARSE.get(size)
    if pitch is None:
        raise UnitError(f"M{size:g} has no coarse pitch", f"Write the pitch too, like 'M{size:g}x1.5'")
    return Thread(designation=text, family=Family.METRIC, major=size * 1e-3, pitch=pitch * 1e-3)


def _unified(text: str, match: re.Match[str]) -> Thread:
    series, count = match["series"].upper(), match["count"]
    size = _size(match["size"], known=_TABLES.get(series, {}))
    if series == "UN":
        if count is None:
            raise UnitError(f"'{text}' has no pitch", "Write the threads an inch, like '2.5-16 UN'")
        threads = float(count)
    else:
        threads = _listed(size, text=text, count=count, series=series)
    if threads <= 0.0:
        raise UnitError(f"'{text}' has no threads", f"Write one {_LIKE}")
    return Thread(designation=text, family=Family.UNIFIED, major=_inches(size) * INCH, pitch=INCH / threads)


_TABLES = {"UNC": UNC, "UNF": UNF}


def _listed(size: str, *, text: str, count: str | None, series: str) -> float:
    """Return the threads an inch that a series has at a size; a pitch beside it has to be that."""
    inches = _inches(size)
    listed = [(name, tpi) for name, tpi in _TABLES[series].items() if abs(_inches(name) - inches) < 1e-4]
    if not listed:
        remedy = "Write it as UN with its threads an inch, like '2.5-16 UN'"
        raise UnitError(f"{series} has no thread of {inches:g} inch here", remedy)
    (name, threads), *_ = listed
    if count is not None and float(count) != threads:
        remedy = f"Write '{name}-{threads} {series}', or '{size}-{count} UN' for a pitch of your own"
        raise UnitError(f"'{text}' isn't in that series", remedy)
    return float(threads)


def _size(text: str, *, known: dict[str, int]) -> str:
    """Return a size as the tables write it: a whole number is a screw's number where a table has that one."""
    plain = re.sub(r"(?i)^(?:#|no\.?)\s*", "#", text.strip()).replace("-", " ")
    return f"#{plain}" if f"#{plain}" in known and plain not in known else plain


def _inches(size: str) -> float:
    """Return a diameter in inches: #n is 0.060 + 0.013 n."""
    if size.startswith("#"):
        return 0.060 + 0.013 * int(size[1:])
    total = 0.0
    for piece in size.split():
        top, _, bottom = piece.partition("/")
        if bottom and float(bottom) == 0.0:
            raise UnitError(f"'{size}' is no size", f"Write a thread {_LIKE}")
        total += float(top) / float(bottom or 1.0)
    return total


def _checked(thread: Thread) -> Thread:
    """Return the thread if a lathe could cut it: 0.5 m wide at most, its root half its diameter at least."""
    if not 0.5e-3 <= thread.major <= 0.5 or thread.pitch <= 0.0:
        raise UnitError(f"'{thread.designation}' is no size of a thread", f"Write one {_LIKE}")
    if thread.root < 0.5 * thread.major:
        remedy = f"Write a finer pitch: one {_LIKE}"
        raise UnitError(f"'{thread.designation}' has a pitch too coarse for its diameter", remedy)
    return thread
