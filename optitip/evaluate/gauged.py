"""Readings of a part against its drawing: walls from diameters, and which readings can't be."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np

from optitip.errors import Mistake, UserMistakes
from optitip.evaluate.building import Tip
from optitip.evaluate.drawn import AFT, FORE
from optitip.evaluate.weights import Weights
from optitip.geometry.outline import Outline
from optitip.inputs.as_made import DiameterReading, Measured
from optitip.units import text

FARTHEST = 3.0
"""A reading that is more than so many times the drawn value, or less than one of so many, is a mistake"""
OUTSIDE_OFF = 1.5
"""The same of an outside diameter, which is turned to tenths"""
_AT_THE_END = 1e-5  # [m] a reading may lie beyond the band's ends, which nobody sees on the part
UNITS_HINT = "Look for a wrong unit, or a slip of the point"


@dataclass(frozen=True, slots=True, kw_only=True)
class Gauged:
    """Walls as (arc length of the outline, thickness) [m], outsides as (place, drawn, measured) [m]."""

    walls: tuple[tuple[float, float], ...]
    outside: tuple[tuple[str, float, float], ...]


def gauged(measured: Measured, *, tip: Tip) -> Gauged:
    """Return the walls that the readings of walls and diameters give; UserMistakes for what can't be."""
    outline = tip.outline
    mistakes = list(_mistakes_of_stations(measured, length=outline.turned_length))
    if mistakes:
        raise UserMistakes(mistakes)
    walls: list[tuple[float, float]] = []
    outside = []
    found = [
        (place, float(outline.arc_length_of([reading.station(outline.turned_length)])[0]), reading.thickness)
        for place, reading in zip(measured.wall_places, measured.wall, strict=True)
    ]
    for place, reading in zip(measured.diameter_places, measured.diameter, strict=True):
        station = reading.station(outline.turned_length)
        if reading.outside is not None:
            drawn = 2.0 * _radius(outline, station)
            outside.append((place, drawn, reading.outside))
            mistakes += _mistakes_of_outside(place, drawn=drawn, read=reading.outside)
        if reading.bore is not None:
            found.append((place, *wall_of_bore(reading, station=station, outline=outline)))
    for place, arc, thickness in found:
        wrong = list(_mistakes_of_wall(place, arc=arc, thickness=thickness, tip=tip))
        mistakes += wrong
        walls.append((arc, thickness))
    if mistakes:
        raise UserMistakes(mistakes)
    return Gauged(walls=tuple(walls), outside=tuple(outside))


def _mistakes_of_stations(measured: Measured, *, length: float) -> Iterator[Mistake]:
    """Yield stations that are not on a tip of that length [m]."""
    walls = zip(measured.wall_places, measured.wall, strict=True)
    for place, reading in (*walls, *zip(measured.diameter_places, measured.diameter, strict=True)):
        station = reading.station(length)
        if not -_AT_THE_END <= station <= length + _AT_THE_END:
            problem = (
                f"{text(station, 'm')} from the nose point is off the tip, which is {text(length, 'm')} long"
            )
            yield Mistake(place, problem, "Give z from the nose point, or z_from_aft from the aft face")


def _radius(outline: Outline, station: float) -> float:
    return float(outline.at(outline.arc_length_of([station]))[1][0])


def wall_of_bore(reading: DiameterReading, *, station: float, outline: Outline) -> tuple[float, float]:
    """Return arc length and thickness [m] of the wall over a bore read at a station [m].

    The bore's edge lies at its radius; the wall is its distance to the outline, along the outline's normal.
    Where the outside was read beside it, the outline is taken as that much farther out.
    """
    shift = 0.0 if reading.outside is None else 0.5 * reading.outside - _radius(outline, station)
    edge = 0.5 * (reading.bore or 0.0) - shift
    arc = float(outline.arc_length_of([station])[0])
    for _ in range(60):
        axial, radius, slope = (float(one[0]) for one in outline.at([arc]))
        along = (edge - radius) * np.sin(slope) + (station - axial) * np.cos(slope)
        arc = min(max(arc + along, 0.0), outline.total_arc)
        if abs(along) < 1e-13:
            break
    axial, radius, slope = (float(one[0]) for one in outline.at([arc]))
    return arc, float((radius - edge) * np.cos(slope) + (station - axial) * np.sin(slope))


def mistakes_of_lengths(measured: Measured, *, drawn: Mapping[str, float]) -> Iterator[Mistake]:
    """Yield what can't be among the lengths by key, and a wall that is given twice."""
    for key, value in measured.lengths.items():
        place = f"{measured.file}, {key}"
        if key not in drawn:
            yield Mistake(place, "the drawn part has none", "Leave it out, or give it to the study")
        elif not 1.0 / FARTHEST <= value / max(drawn[key], 1e-9) <= FARTHEST and drawn[key] > 0.0:
            yield Mistake(place, f"{text(value, 'm')} where {text(drawn[key], 'm')} is drawn", UNITS_HINT)
    bores = any(one.bore is not None for one in measured.diameter)
    if (measured.wall or bores) and (FORE in measured.lengths or AFT in measured.lengths):
        place = f"{measured.file}, {FORE if FORE in measured.lengths else AFT}"
        yield Mistake(place, "the wall is measured twice", "Keep it, or the readings of wall and bore")


def mistakes_of_masses(measured: Measured, *, weights: Weights) -> Iterator[Mistake]:
    """Yield masses that are no mass of this part."""
    for key, value, drawn in (
        ("mass", measured.mass, weights.shell["shell.mass"]),
        ("slab_mass", measured.slab_mass, weights.slab_mass),
    ):
        if value is not None and not 1.0 / FARTHEST <= value / drawn <= FARTHEST:
            problem = f"{text(value, 'kg')} where {text(drawn, 'kg')} is drawn"
            yield Mistake(f"{measured.file}, {key}", problem, "Look for a wrong unit, or a part left off")


def _mistakes_of_outside(place: str, *, drawn: float, read: float) -> Iterator[Mistake]:
    if not 1.0 / OUTSIDE_OFF <= read / drawn <= OUTSIDE_OFF:
        problem = f"an outside of {text(read, 'm')} where {text(drawn, 'm')} is drawn"
        yield Mistake(f"{place}, outside", problem, "Give the diameter, no radius, with its unit")


def _mistakes_of_wall(place: str, *, arc: float, thickness: float, tip: Tip) -> Iterator[Mistake]:
    """Yield why a reading can't be one of the band's wall: where it is, how thick."""
    fore, aft = tip.cavity.band_arc
    if not fore - _AT_THE_END <= arc <= aft + _AT_THE_END:
        here, *ends = (text(float(z), "m") for z in tip.outline.at([arc, fore, aft])[0])
        problem = f"{here} from the nose point lies outside the band ({' to '.join(ends)})"
        yield Mistake(place, problem, "Measure between its ends, or leave the reading out")
        return
    radius, drawn = float(tip.outline.at([arc])[1][0]), float(tip.cavity.wall_thickness([arc])[0])
    said = f"a wall of {text(thickness, 'm')} where {text(drawn, 'm')} is drawn"
    if thickness >= radius:
        problem = f"{said}, in a part of {text(radius, 'm')} radius"
        yield Mistake(place, problem, "Give diameters, no radii, each with its unit")
    elif not 1.0 / FARTHEST <= thickness / drawn <= FARTHEST:
        yield Mistake(place, said, "Look for a radius in place of a diameter, or a wrong unit")
