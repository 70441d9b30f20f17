"""A table of stations along the outline: the heating that meets the part, and how hot its wall gets."""

import csv
import io
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from optitip.arrays import FloatArray
from optitip.evaluate.assessment import Assessment, Stations
from optitip.export.files import write_text
from optitip.units import System, shown

_DIGITS = 6


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Column:
    """One column: its words, its SI unit and its values (n,)."""

    words: str
    unit: str
    values: FloatArray

    def header(self, system: System) -> str:
        return f"{self.words} [{shown(0.0, self.unit, system)[1]}]"


def write_stations(
    assessment: Assessment, *, folder: Path, name: str = "stations.csv", system: System = System.METRIC
) -> Path:
    """Write the stations of the expected flow state as CSV and return the file's path.

    Each column carries its unit; lines in front that begin with # name the flow state and the instants. Wall
    thickness is empty where the part is solid. A joint that comes out has two rows, fore and aft of it.
    """
    stations = assessment.expected.stations
    columns = list(_columns(stations))
    stream = io.StringIO()
    stream.write(f"# flow state: {assessment.expected_state}\n")
    for one in stations:
        stream.write(f"# {one.instant}: {one.time:.4g} s\n")
    table = csv.writer(stream, lineterminator="\n")
    table.writerow([column.header(system) for column in columns])
    for row in zip(*(column.values.tolist() for column in columns), strict=True):
        table.writerow(
            [_cell(value, column.unit, system) for value, column in zip(row, columns, strict=True)]
        )
    return write_text(folder, name, stream.getvalue())


def _columns(stations: Sequence[Stations]) -> Iterator[_Column]:
    """Yield place and wall, then heating and temperatures at each instant, then the peak of the flight."""
    place = stations[0]
    yield _Column(words="z from nose point", unit="m", values=place.axial)
    yield _Column(words="arc length", unit="m", values=place.arc_length)
    yield _Column(words="outline radius", unit="m", values=place.radius)
    yield _Column(words="wall thickness", unit="m", values=place.thickness)
    for one in stations:
        yield _Column(words=f"film coefficient, {one.instant}", unit="W/(m2 K)", values=one.film)
        yield _Column(words=f"recovery temperature, {one.instant}", unit="K", values=one.recovery)
        yield _Column(words=f"wall outside, {one.instant}", unit="K", values=one.wall)
        yield _Column(words=f"wall inside, {one.instant}", unit="K", values=one.inside)
    yield _Column(words="wall outside, peak", unit="K", values=place.highest)


def _cell(value: float, unit: str, system: System) -> str:
    return "" if math.isnan(value) else f"{shown(value, unit, system)[0]:.{_DIGITS}g}"
