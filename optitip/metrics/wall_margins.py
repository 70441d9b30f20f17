"""How far the walls' stress is from what they stand: loads against yield, strain and stress to and fro."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from optitip.arrays import FloatArray, IntArray
from optitip.metrics.instants import Instant
from optitip.metrics.margins import Margin, margin_of, use_of
from optitip.properties.materials import Elastic
from optitip.solvers.elastic_lines import WallStress, von_mises

FACES = ("outline", "inner")
ALONG = np.array([0.0, 1.0, 0.0, 0.0])  # of r, z, theta, rz


@dataclass(frozen=True, slots=True, kw_only=True)
class Judging:
    """What a wall's stress is judged with.

    Args:
        materials: elastic tables, as ``WallStress.material`` indexes them.
        parts: the part each zone belongs to.
        instants: the instants (n_i,).
        factor: factor of safety.
    """

    materials: tuple[Elastic, ...]
    parts: Mapping[int, str]
    instants: tuple[Instant, ...]
    factor: float


def yield_margin(
    wall: WallStress,
    *,
    about: Judging,
    bending: FloatArray | float = 0.0,
) -> Margin:
    """Return the smallest of yield(T) / (factor sigma) - 1, sigma the von Mises stress of the loads alone.

    Stress of temperature is secondary (it relieves itself once a wall has yielded a little) and is judged
    by ``strain_margin`` and ``shakedown_margin``.

    Args:
        wall: linearised stress at the wall's faces.
        bending: stress along the axis of the tip bent as a beam, on the side where it pulls, at the faces
            (n_i, n_l, 2) [Pa]; on the other side it presses as much, and the worse of both counts.
        about: what the lines are of, the instants, the safety factor on the load.

    Source: primary and secondary stress as in pressure-vessel practice (ASME BPVC VIII-2, from memory).
    """
    strength = _of_materials(
        Elastic.yield_at, wall.temperature, materials=about.materials, material=wall.material
    )
    bent = np.multiply.outer(np.broadcast_to(bending, strength.shape), ALONG)
    load = np.maximum(von_mises(wall.primary + bent), von_mises(wall.primary - bent))
    margins = margin_of(strength, load=load, factor=about.factor)
    i, line, face = np.unravel_index(np.argmax(use_of(strength, load=load)), load.shape)
    worst = (i, line, face)
    return _placed(
        "margin.yield",
        margins[worst],
        wall=wall,
        line=int(line),
        parts=about.parts,
        time=about.instants[int(i)].name,
        seconds=about.instants[int(i)].time,
        detail=f"{FACES[face]} face: {{0}} of the loads, factor {about.factor:g}, yield {{1}} at {{2}}",
        figures=(
            (float(load[worst]), "Pa"),
            (float(strength[worst]), "Pa"),
            (float(wall.temperature[worst]), "K"),
        ),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Ranges:
    """Between each pair of states: the numbers of its instants (n_p,), the start's -1, and what is judged.

    load, twice_yield, modulus ``(n_p, n_l, 2)`` [Pa].
    """

    first: IntArray
    second: IntArray
    load: FloatArray
    twice_yield: FloatArray
    modulus: FloatArray

    def name(self, pair: int, about: Judging) -> str:
        """Return from when to when a range goes."""
        names = ("start", *(one.name for one in about.instants))
        return f"{names[self.first[pair] + 1]} to {names[self.second[pair] + 1]}"


def stress_ranges(wall: WallStress, *, materials: tuple[Elastic, ...]) -> Ranges:
    """Return the von Mises stress of the difference between each two states, the start among them.

    The start is the shell put together, cold: free of stress unless its parts press on each other.

    Args:
        wall: linearised stress at the wall's faces.
        materials: elastic tables, as ``wall.material`` indexes them.
    """
    stress = np.concatenate((wall.assembled[None], wall.total))
    temperature = np.concatenate((wall.start_temperature[None], wall.temperature))
    first, second = np.triu_indices(len(stress), k=1)
    strength = _of_materials(Elastic.yield_at, temperature, materials=materials, material=wall.material)
    modulus = _of_materials(Elastic.modulus_at, temperature, materials=materials, material=wall.material)
    return Ranges(
        first=first - 1,
        second=second - 1,
        load=von_mises(stress[second] - stress[first]),
        twice_yield=strength[first] + strength[second],
        modulus=0.5 * (modulus[first] + modulus[second]),
    )


def strain_margin(
    wall: WallStress,
    ranges: Ranges,
    *,
    about: Judging,
    allowed: float,
) -> Margin:
    """Return the smallest of allowed / (factor range) - 1, the range that of the strain between two states.

    The range is the von Mises stress of the difference of the whole stress between two instants (the
    start among them), reckoned as if elastic, over E at their mean temperature. Strain of temperature is
    given by how much the neighbours grow, so it is nearly the same when the wall yields; that of loads isn't,
    and is judged by ``yield_margin``.

    Args:
        wall: linearised stress at the wall's faces.
        ranges: its ranges of stress.
        about: what the lines are of, the instants, the safety factor on the range.
        allowed: strain to and fro that the metal stands as often as the tip flies [1].

    Source: elastic strain ranges for low-cycle life are common practice (universal slopes, Manson 1965, from
    memory: ductile metals stand 1 % for some hundred times and more).
    """
    load = ranges.load / ranges.modulus
    strength = np.full_like(load, allowed)
    margins = margin_of(strength, load=load, factor=about.factor)
    pair, line, face = np.unravel_index(np.argmax(load), load.shape)
    worst = (int(pair), int(line), int(face))
    return _placed(
        "margin.strain",
        margins[worst],
        wall=wall,
        line=int(line),
        parts=about.parts,
        time=ranges.name(int(pair), about),
        seconds=_harder(ranges, wall, about, place=worst),
        detail=f"{FACES[face]} face: strain of {100.0 * load[worst]:.3g} % to and fro, "
        f"factor {about.factor:g}, {100.0 * allowed:.3g} % allowed",
    )


def shakedown_margin(wall: WallStress, ranges: Ranges, *, about: Judging) -> Margin:
    """Return the smallest of 2 S / (factor range) - 1, over all pairs of instants and the stress-free start.

    The range is the von Mises stress of the difference of the whole stress (loads and temperature) between
    the two states; S is the mean of yield at their two temperatures. Within 2 S the wall yields at most
    once and is elastic after; a wall under a single heating isn't harmed by more, but it keeps a set.

    Args:
        wall: linearised stress at the wall's faces.
        ranges: its ranges of stress.
        about: what the lines are of, the instants, the safety factor on the range.

    Source: the limit of twice yield on primary plus secondary range (ASME BPVC VIII-2, 5.5.6, from memory).
    """
    load, twice = ranges.load, ranges.twice_yield
    margins = margin_of(twice, load=load, factor=about.factor)
    pair, line, face = np.unravel_index(np.argmax(use_of(twice, load=load)), load.shape)
    worst = (int(pair), int(line), int(face))
    return _placed(
        "margin.shakedown",
        margins[worst],
        wall=wall,
        line=int(line),
        parts=about.parts,
        time=ranges.name(int(pair), about),
        seconds=_harder(ranges, wall, about, place=worst),
        detail=f"{FACES[face]} face: range {{0}}, factor {about.factor:g}, twice the mean yield {{1}}",
        figures=((float(load[worst]), "Pa"), (float(twice[worst]), "Pa")),
    )


def _harder(ranges: Ranges, wall: WallStress, about: Judging, *, place: tuple[int, int, int]) -> float:
    """Return which end of a range, at a place of it, is under more stress [s]."""
    pair, line, face = place
    ends = [int(end[pair]) for end in (ranges.first, ranges.second) if end[pair] >= 0]
    return about.instants[max(ends, key=lambda end: float(von_mises(wall.total[end, line, face])))].time


def _of_materials(
    of: Callable[[Elastic, FloatArray], FloatArray],
    temperature: FloatArray,
    *,
    materials: Sequence[Elastic],
    material: IntArray,
) -> FloatArray:
    """Return a property (n_i, n_l, 2) of each line's own material at its temperatures."""
    values = np.empty_like(temperature)
    for index, one in enumerate(materials):
        inside = material == index
        values[:, inside] = of(one, temperature[:, inside])
    return values


def _placed(
    name: str,
    value: float,
    *,
    wall: WallStress,
    line: int,
    parts: Mapping[int, str],
    time: str,
    seconds: float,
    detail: str,
    figures: tuple[tuple[float, str], ...] = (),
) -> Margin:
    return Margin(
        name=name,
        value=float(value),
        part=parts[int(wall.zone[line])],
        axial=float(wall.axial[line]),
        time=time,
        seconds=seconds,
        detail=detail,
        figures=figures,
    )
