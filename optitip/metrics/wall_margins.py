"""How far the walls' stress is from what they stand: loads against yield, strain and stress to and fro."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from optitip.arrays import FloatArray, IntArray, frozen_index
from optitip.metrics.instants import Instant
from optitip.metrics.margins import Margin, margin_of, use_of
from optitip.properties.materials import Elastic
from optitip.solvers.elastic_lines import WallStress, deviator, von_mises

FACES = ("outline", "inner")
_ROOT_3 = np.sqrt(3.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Judging:
    """What a wall's stress is judged with.

    Args:
        parts: the part each zone belongs to.
        instants: the instants (n_i,).
        factor: factor of safety.
    """

    parts: Mapping[int, str]
    instants: tuple[Instant, ...]
    factor: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Standing:
    """What the metal at the faces stands and how stiff it is (n_l, 2, 1 + n_i) [Pa], the start first."""

    yield_strength: FloatArray
    modulus: FloatArray

    def at(self, some: slice) -> "Standing":
        """Return the same at some of the instants."""
        kept = np.arange(self.modulus.shape[-1])[1:][some]
        kept = np.append(0, kept)
        return Standing(yield_strength=self.yield_strength[..., kept], modulus=self.modulus[..., kept])


def standing(wall: WallStress, *, materials: Sequence[Elastic]) -> Standing:
    """Return what the metal at the faces stands; materials: as ``wall.material`` indexes them."""
    hot = wall.temperature.transpose(1, 2, 0)
    temperature = np.concatenate((wall.start_temperature[..., None], hot), axis=-1)
    strength, modulus = np.empty_like(temperature), np.empty_like(temperature)
    for index, one in enumerate(materials):
        inside = wall.material == index
        strength[inside] = one.yield_at(temperature[inside])
        modulus[inside] = one.modulus_at(temperature[inside])
    return Standing(yield_strength=strength, modulus=modulus)


def yield_margin(
    wall: WallStress,
    stands: Standing,
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
        stands: what the metal stands there.
        about: what the lines are of, the instants, the safety factor on the load.

    Source: primary and secondary stress as in pressure-vessel practice (ASME BPVC VIII-2, from memory).
    """
    strength, parts = stands.yield_strength[..., 1:], deviator(_instants_last(wall.primary))
    bent = np.broadcast_to(bending, wall.temperature.shape).transpose(1, 2, 0)
    # |d +- e|^2 = |d|^2 + |e|^2 +- 2 d e, e of the bending: the worse side is the sum of sizes
    load = np.sqrt((parts**2).sum(axis=0) + bent**2 + np.abs(bent * (_ROOT_3 * parts[0] + parts[1])))
    worst = np.unravel_index(np.argmax(use_of(strength, load=load)), load.shape)
    line, face, i = (int(one) for one in worst)
    return _placed(
        "margin.yield",
        float(margin_of(strength[worst], load=load[worst], factor=about.factor)),
        wall=wall,
        line=line,
        parts=about.parts,
        time=about.instants[i].name,
        seconds=about.instants[i].time,
        detail=f"{FACES[face]} face: {{0}} of the loads, factor {about.factor:g}, yield {{1}} at {{2}}",
        figures=(
            (float(load[worst]), "Pa"),
            (float(strength[worst]), "Pa"),
            (float(wall.temperature[i, line, face]), "K"),
        ),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Ranges:
    """Between each pair of states: the numbers of its instants (n_p,), the start's -1, and what is judged.

    Where parts press on each other their state before, apart, is one too: -2.

    place: numbers of the faces that can have the largest (n_k,), 2 line + face. load, twice_yield, modulus
    ``(n_p, n_k)`` [Pa].
    """

    first: IntArray
    second: IntArray
    place: IntArray
    load: FloatArray
    twice_yield: FloatArray
    modulus: FloatArray

    def worst(self, use: FloatArray) -> tuple[int, int]:
        """Return the pair and the place, among those kept, that are used most."""
        pair, place = np.unravel_index(np.argmax(use), use.shape)
        return int(pair), int(place)

    def name(self, pair: int, about: Judging) -> str:
        """Return from when to when a range goes."""
        names = ("parts apart", "start", *(one.name for one in about.instants))
        return f"{names[self.first[pair] + 2]} to {names[self.second[pair] + 2]}"


def stress_ranges(wall: WallStress, stands: Standing) -> Ranges:
    """Return the von Mises stress of the difference between each two states, the start among them.

    The start is the shell put together, cold: free of stress unless its parts press on each other; then they
    were free of it before, apart, and that is a state as well. A range
    is no larger than what its ends are from the start together, d_ij <= r_i + r_j, so over S_i + S_j it is
    at most r/S of the largest r and the smallest S of its place: where that is less than what some place has
    from the start, r/(2 S) of its largest S at least, the place is left out.

    Args:
        wall: linearised stress at the wall's faces.
        stands: what the metal stands there.
    """
    count = stands.modulus.shape[-1]
    strength, modulus = (one.reshape(-1, count) for one in (stands.yield_strength, stands.modulus))
    before = deviator(wall.assembled).reshape(3, -1, 1)
    parts, lead = deviator(_instants_last(wall.total)).reshape(3, -1, count - 1) - before, 1
    if before.any():
        parts, lead = np.append(-before, parts, axis=-1), 2
        strength, modulus = (np.append(one[:, :1], one, axis=-1) for one in (strength, modulus))
    farthest, kept = np.sqrt((parts**2).sum(axis=0).max(axis=1)), np.zeros(len(parts[0]), dtype=bool)
    for stood in (strength, modulus):
        some = use_of(2.0 * stood.max(axis=1), load=farthest).max()
        kept |= farthest >= some * stood.min(axis=1)
    place, (first, second) = np.flatnonzero(kept), _pairs(count - 1 + lead)
    strength, modulus = strength[place].T, modulus[place].T
    parts = np.insert(parts[:, place], lead - 1, 0.0, axis=-1).transpose(0, 2, 1)
    load = np.sqrt(((parts[:, second] - parts[:, first]) ** 2).sum(axis=0))
    return Ranges(
        first=first - lead,
        second=second - lead,
        place=place,
        load=load,
        twice_yield=strength[first] + strength[second],
        modulus=0.5 * (modulus[first] + modulus[second]),
    )


def _instants_last(stress: FloatArray) -> FloatArray:
    """Return stress (n_i, n_l, 2, 4) as (n_l, 2, n_i, 4): so ``wall_stress`` has it in memory."""
    return stress.transpose(1, 2, 0, 3)


@lru_cache(maxsize=32)
def _pairs(count: int) -> tuple[IntArray, IntArray]:
    """Return the numbers of all pairs of so many states."""
    first, second = np.triu_indices(count, k=1)
    return frozen_index(first), frozen_index(second)


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
    strain = ranges.load / ranges.modulus
    worst = ranges.worst(strain)
    pair, (line, face) = worst[0], divmod(int(ranges.place[worst[1]]), 2)
    load = float(strain[worst])
    return _placed(
        "margin.strain",
        float(margin_of(np.array(allowed), load=np.array(load), factor=about.factor)),
        wall=wall,
        line=line,
        parts=about.parts,
        time=ranges.name(pair, about),
        seconds=_harder(ranges, wall, about, pair=pair, line=line, face=face),
        detail=f"{FACES[face]} face: strain of {100.0 * load:.3g} % to and fro, "
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
    worst = ranges.worst(use_of(twice, load=load))
    pair, (line, face) = worst[0], divmod(int(ranges.place[worst[1]]), 2)
    return _placed(
        "margin.shakedown",
        float(margin_of(twice[worst], load=load[worst], factor=about.factor)),
        wall=wall,
        line=line,
        parts=about.parts,
        time=ranges.name(pair, about),
        seconds=_harder(ranges, wall, about, pair=pair, line=line, face=face),
        detail=f"{FACES[face]} face: range {{0}}, factor {about.factor:g}, twice the mean yield {{1}}",
        figures=((float(load[worst]), "Pa"), (float(twice[worst]), "Pa")),
    )


def _harder(ranges: Ranges, wall: WallStress, about: Judging, *, pair: int, line: int, face: int) -> float:
    """Return which end of a range, at a place of it, is under more stress [s]; before all, the first."""
    ends = [int(end[pair]) for end in (ranges.first, ranges.second) if end[pair] >= 0] or [0]
    return about.instants[ends[int(np.argmax(von_mises(wall.total[ends, line, face])))]].time


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
