"""One RODAS3 step of eight lanes, each of its own length, and the verdict on it, case by case.

The stages are those of ``rodas``, the verdict that of ``march``: the worst lane of a case speaks for it.
"""

from math import isfinite

import numpy as np

from optitip.arrays import FloatArray, IntArray
from optitip.solvers.compiled_band import GROUP, factorise, solve
from optitip.solvers.compiled_layout import VAPOUR, Places
from optitip.solvers.compiled_rates import put_trial, rate_of_trial, spent_heat, temperature_of
from optitip.solvers.compiled_surface import larger, set_instants
from optitip.solvers.condensing import CONDENSING_FILM
from optitip.solvers.lanes import WIDTH, choose, compiled, entry, load, number_at, root, spread, store
from optitip.solvers.march import BEND, GROWTH, MOST_STEPS, ROUND_OFF, SAFETY, SHRINK
from optitip.solvers.rodas import GAMMA

MARCHING, DONE, STALLED, FULL = 1, 2, 3, 4


@compiled
def _answer(rows: FloatArray, at: Places, node: int, rise: FloatArray) -> FloatArray:
    """Return a node's answer in x: the band's own, and what the pocket's adds (nothing without one)."""
    return load(rows, at.solved + node) + rise * load(rows, at.pocket_gain + node)


@compiled
def _rise(rows: FloatArray, index: IntArray, at: Places) -> FloatArray:
    """Return the pocket's own answer, which is its gain too; nought without a pocket."""
    if at.faces == 0:
        return spread(0.0)
    rise = load(rows, at.right_sum + at.borders)
    for turn in range(at.faces):
        rise = rise + load(rows, at.by_face + turn) * load(rows, at.solved + entry(index, at.face + turn))
    rise = rise / load(rows, at.pocket_pivot)
    store(rows, at.right_sum + at.borders, rise)
    return rise


@compiled
def _lost(rows: FloatArray, index: IntArray, at: Places) -> FloatArray:
    """Make of ``right_sum`` the sums' gains, by what the borders lose; return the pocket's."""
    rise, convected, radiated = _rise(rows, index, at), spread(0.0), spread(0.0)
    for turn in range(at.outers):
        x = _answer(rows, at, entry(index, at.outer + turn), rise)
        convected = convected + load(rows, at.border_loss + 2 * turn) * x
        radiated = radiated + load(rows, at.border_loss + 2 * turn + 1) * x
    store(rows, at.right_sum, load(rows, at.right_sum) - convected)
    store(rows, at.right_sum + 1, load(rows, at.right_sum + 1) - radiated)
    for turn in range(at.sink_nodes):
        lost = load(rows, at.border_loss + 2 * at.outers + turn)
        lost = lost * _answer(rows, at, entry(index, at.sink + turn), rise)
        place = at.right_sum + entry(index, at.sink_border + turn)
        store(rows, place, load(rows, place) - lost)
    length = spread(GAMMA) * load(rows, at.length)
    for border in range(at.borders):
        store(rows, at.right_sum + border, load(rows, at.right_sum + border) * length)
    return rise


@compiled
def _kick(rows: FloatArray, index: IntArray, at: Places, share: float) -> None:
    """Add the rate's own slope in time to the right-hand side."""
    length = spread(share) * load(rows, at.length)
    for turn in range(at.outers):
        place = at.right + entry(index, at.outer + turn)
        store(rows, place, load(rows, place) + length * load(rows, at.rate_slope + turn))
    for border in range(at.sums):
        place = at.right_sum + border
        store(rows, place, load(rows, place) + length * load(rows, at.rate_slope_sum + border))


@compiled
def _first_stage(rows: FloatArray, index: IntArray, at: Places) -> FloatArray:
    for node in range(at.nodes):
        store(rows, at.right + node, load(rows, at.rate + node))
    for border in range(at.sums):
        store(rows, at.right_sum + border, load(rows, at.rate_sum + border))
    _kick(rows, index, at, 0.5)
    _clear_pad(rows, at, at.right)
    if at.faces > 0:
        _pocket_column(rows, index, at)
    factorise(rows, index, at, at.faces > 0)
    if at.faces > 0:
        _pocket_pivot(rows, index, at)
    return _lost(rows, index, at)


@compiled
def _clear_pad(rows: FloatArray, at: Places, place: int) -> None:
    for node in range(at.nodes, GROUP * at.column_groups):
        store(rows, place + node, spread(0.0))


@compiled
def _pocket_column(rows: FloatArray, index: IntArray, at: Places) -> None:
    """Write the column of the pocket that borders the matrix."""
    for node in range(at.nodes):
        store(rows, at.column + node, spread(0.0))
    _clear_pad(rows, at, at.column)
    for turn in range(at.faces):
        store(rows, at.column + entry(index, at.face + turn), load(rows, at.by_pocket + turn))


@compiled
def _pocket_pivot(rows: FloatArray, index: IntArray, at: Places) -> None:
    """Take what is left of the pocket's own diagonal when the nodes are eliminated."""
    pivot = load(rows, at.sum_mass + at.borders) / (spread(GAMMA) * load(rows, at.length))
    for turn in range(at.faces):
        gain = load(rows, at.pocket_gain + entry(index, at.face + turn))
        pivot = pivot + load(rows, at.by_pocket + turn) - load(rows, at.by_face + turn) * gain
    store(rows, at.pocket_pivot, pivot)


@compiled
def _second_stage(rows: FloatArray, index: IntArray, at: Places, rise: FloatArray) -> FloatArray:
    per_length = spread(4.0) / load(rows, at.length)
    for node in range(at.nodes):
        gain = _answer(rows, at, node, rise) * load(rows, at.enthalpy_per_x + node)
        store(rows, at.first_gain + node, gain)
        mass = load(rows, at.volume + node) * per_length
        store(rows, at.right + node, load(rows, at.rate + node) + mass * gain)
    for border in range(at.sums):
        gain = load(rows, at.right_sum + border)
        store(rows, at.first_gain_sum + border, gain)
        held = load(rows, at.sum_mass + border) * per_length * gain
        store(rows, at.right_sum + border, load(rows, at.rate_sum + border) + held)
    _kick(rows, index, at, 1.5)
    return _solve(rows, index, at)


@compiled
def _solve(rows: FloatArray, index: IntArray, at: Places) -> FloatArray:
    _clear_pad(rows, at, at.right)
    solve(rows, index, at)
    return _lost(rows, index, at)


@compiled
def _third_stage(
    rows: FloatArray,
    whole: IntArray,
    index: IntArray,
    at: Places,
    absorbs: bool,
    held: bool,
    rise: FloatArray,
) -> FloatArray:
    two, four, per_length = spread(2.0), spread(4.0), spread(1.0) / load(rows, at.length)
    for node in range(at.nodes):
        first = load(rows, at.first_gain + node)
        second = _answer(rows, at, node, rise) * load(rows, at.enthalpy_per_x + node)
        # how fast the node warms just after the start, as in ``rodas``
        leaving = (four * first + (first - second)) * per_length * load(rows, at.temperature_slope + node)
        if entry(index, at.boils + entry(index, at.material + node)) != 0:
            leaving = leaving * load(rows, at.boiling + node)
        store(rows, at.leaving + node, leaving)
        store(rows, at.mixed + node, first - second)
        put_trial(rows, whole, index, at, node, load(rows, at.enthalpy + node) + two * first)
    for border in range(at.sums):
        first = load(rows, at.first_gain_sum + border)
        store(rows, at.trial_sum + border, load(rows, at.crossed + border) + two * first)
        store(rows, at.mixed_sum + border, first - load(rows, at.right_sum + border))
    return _late_stage(rows, whole, index, at, absorbs, held)


@compiled
def _late_stage(
    rows: FloatArray, whole: IntArray, index: IntArray, at: Places, absorbs: bool, held: bool
) -> FloatArray:
    """Solve for the rate at the trial state and what the stages before left mixed."""
    rate_of_trial(rows, whole, index, at, absorbs, held)
    per_length = spread(1.0) / load(rows, at.length)
    for border in range(at.sums):
        mixed = load(rows, at.sum_mass + border) * per_length * load(rows, at.mixed_sum + border)
        store(rows, at.right_sum + border, load(rows, at.right_sum + border) + mixed)
    return _solve(rows, index, at)


@compiled
def _fourth_stage(
    rows: FloatArray,
    whole: IntArray,
    index: IntArray,
    at: Places,
    absorbs: bool,
    held: bool,
    rise: FloatArray,
) -> FloatArray:
    share = spread(8.0 / 3.0)
    for node in range(at.nodes):
        gain = _answer(rows, at, node, rise) * load(rows, at.enthalpy_per_x + node)
        store(rows, at.mixed + node, load(rows, at.mixed + node) - share * gain)
        put_trial(rows, whole, index, at, node, load(rows, at.trial + node) + gain)
    for border in range(at.sums):
        gain = load(rows, at.right_sum + border)
        store(rows, at.trial_sum + border, load(rows, at.trial_sum + border) + gain)
        store(rows, at.mixed_sum + border, load(rows, at.mixed_sum + border) - share * gain)
    return _late_stage(rows, whole, index, at, absorbs, held)


@compiled
def _size(value: FloatArray) -> FloatArray:
    return larger(value, spread(0.0) - value)


@compiled
def _last_gain(rows: FloatArray, index: IntArray, at: Places, rise: FloatArray) -> None:
    """Add the last stage, which is also the error, to the trial state; its kelvins go into ``right``.

    Where the cubic between the step's ends bends by more than ``BEND`` times them, its bend over that does.
    """
    length, two = load(rows, at.length), spread(2.0)
    per_gamma, per_bend = spread(1.0 / GAMMA), spread(1.0 / BEND)
    for node in range(at.nodes):
        gain = _answer(rows, at, node, rise) * load(rows, at.enthalpy_per_x + node)
        after = load(rows, at.trial + node) + gain
        store(rows, at.last + node, gain)
        store(rows, at.trial + node, after)
        kelvin = load(rows, at.temperature_slope + node)
        least = load(rows, at.least_slope + entry(index, at.material + node))
        wrong = _size(gain * larger(kelvin, least))
        if entry(index, at.boils + entry(index, at.material + node)) != 0:
            kelvin = kelvin * load(rows, at.boiling + node)
        bend = gain * per_gamma - load(rows, at.mixed + node) - two * (after - load(rows, at.enthalpy + node))
        bend = _size(bend * kelvin + length * load(rows, at.leaving + node)) * per_bend
        # only what is no number fails this, and stays
        store(rows, at.right + node, choose(bend <= wrong, wrong, bend))
    for border in range(at.sums):
        gain = load(rows, at.right_sum + border)
        store(rows, at.last_sum + border, gain)
        store(rows, at.trial_sum + border, load(rows, at.trial_sum + border) + gain)


@compiled
def worst_region(rows: FloatArray, index: IntArray, at: Places, source: int) -> FloatArray:
    """Return the root mean square over the worst region of the values at ``source``; no number stays none."""
    worst = spread(0.0)
    for region in range(at.regions):
        total = spread(0.0)
        for turn in range(entry(index, at.region_start + region), entry(index, at.region_start + region + 1)):
            value = load(rows, source + entry(index, at.region_node + turn))
            total = total + value * value
        mean = total * load(rows, at.region_weight + region)
        larger_one = choose(mean <= worst, worst, mean)
        # only what is no number fails this, and stays
        worst = choose(worst >= spread(0.0), larger_one, worst)
    return root(worst)


@compiled
def attempt(rows: FloatArray, whole: IntArray, index: IntArray, at: Places, absorbs: bool) -> None:
    """Take one step of every lane to its own end and say how wrong it is."""
    rise = _first_stage(rows, index, at)
    rise = _second_stage(rows, index, at, rise)
    store(rows, at.instant, load(rows, at.end))
    held = set_instants(rows, whole, at, False)
    rise = _third_stage(rows, whole, index, at, absorbs, held, rise)
    rise = _fourth_stage(rows, whole, index, at, absorbs, held, rise)
    _last_gain(rows, index, at, rise)
    worst = worst_region(rows, index, at, at.right)
    if at.faces > 0:
        pocket = load(rows, at.last_sum + at.borders)
        pocket = _size(pocket)
        worst = choose(pocket <= worst, worst, pocket)
    store(rows, at.error, worst)


@compiled
def choose_lengths(rows: FloatArray, whole: IntArray, at: Places) -> bool:
    """Set the length of each marching case's step; False where one has stalled."""
    held = True
    for case in range(WIDTH):
        if whole[at.case_status, case] != MARCHING:
            continue
        time, stops = rows[at.case_time, case], whole[at.stops_address, case]
        stop = number_at(stops + 8 * whole[at.case_stop, case])
        rest = stop - time
        cut = rows[at.case_length, case] >= rest * (1.0 - 1e-9)
        # two even steps to a stop beat a long one and a stub
        length = rest if cut else min(rows[at.case_length, case], 0.5 * rest)
        tried = whole[at.case_steps, case] + whole[at.case_rejected, case]
        rows[at.case_tried, case] = length
        if tried >= MOST_STEPS or time + ROUND_OFF * length == time:
            whole[at.case_status, case] = STALLED
            held = False
        whole[at.case_cut, case] = cut
        rows[at.case_next, case] = stop if cut else time + length
    for lane in range(WIDTH):
        case = whole[at.case, lane]
        if case >= 0:
            rows[at.length, lane] = rows[at.case_tried, case]
            rows[at.time, lane] = rows[at.case_time, case]
            rows[at.end, lane] = rows[at.time, lane] + rows[at.length, lane]
    return held


@compiled
def _judge(rows: FloatArray, whole: IntArray, at: Places, case: int, error: float) -> None:
    """Take the error of a case's step into its next length; an accepted one is fresh."""
    tolerance, length = rows[at.case_tolerance, case], rows[at.case_tried, case]
    factor = GROWTH if error == 0.0 else SAFETY * np.cbrt(tolerance / error)
    factor = min(max(factor, SHRINK), GROWTH) if isfinite(error) else SHRINK
    if not error <= tolerance:
        whole[at.case_rejected, case] += 1
        rows[at.case_length, case] = length * min(factor, 0.9)
        return
    whole[at.case_steps, case] += 1
    whole[at.case_fresh, case] = 1
    proposed = length * factor
    if whole[at.case_cut, case] != 0:
        whole[at.case_stop, case] += 1
        proposed = max(rows[at.case_length, case], proposed)
    rows[at.case_length, case] = proposed
    rows[at.case_time, case] = rows[at.case_next, case]


@compiled
def judge(rows: FloatArray, whole: IntArray, index: IntArray, at: Places) -> None:
    """Judge every case's step by its worst lane, and move the lanes of those accepted on."""
    for case in range(WIDTH):
        if whole[at.case_status, case] != MARCHING:
            continue
        worst = 0.0
        for lane in range(WIDTH):
            if whole[at.case, lane] == case:
                error = rows[at.error, lane] if rows[at.pivot, lane] > 0.0 else np.inf
                worst = worst if error <= worst else error
                if not isfinite(worst):
                    break
        _judge(rows, whole, at, case, worst)
    for lane in range(WIDTH):
        case = whole[at.case, lane]
        fresh = case >= 0 and whole[at.case_status, case] == MARCHING and whole[at.case_fresh, case] != 0
        rows[at.fresh, lane] = 1.0 if fresh else 0.0
        if fresh:
            rows[at.time, lane] = rows[at.case_time, case]
    _move_on(rows, index, at)
    if at.colds > 0:
        _condense(rows, whole, index, at)


@compiled
def _move_on(rows: FloatArray, index: IntArray, at: Places) -> None:
    """Make the trial state of the fresh lanes theirs; what evaporated with it doesn't come back."""
    fresh, boiled = load(rows, at.fresh) > spread(0.0), spread(0.0)
    for node in range(at.nodes):
        old, new = load(rows, at.enthalpy + node), load(rows, at.trial + node)
        material = entry(index, at.material + node)
        if entry(index, at.boils + material) != 0:
            spent = spent_heat(rows, at, material, node, new)
            place = at.evaporated + node
            before = load(rows, place)
            if entry(index, at.boils + material) == VAPOUR:
                boiled = boiled + (spent - before) * load(rows, at.volume + node)
            store(rows, place, choose(fresh, spent, before))
        store(rows, at.enthalpy + node, choose(fresh, new, old))
    last = at.borders - 1
    store(rows, at.spent, boiled)
    store(rows, at.given, load(rows, at.trial_sum + last) - load(rows, at.crossed + last))
    for border in range(at.sums):
        place = at.crossed + border
        store(rows, place, choose(fresh, load(rows, at.trial_sum + border), load(rows, place)))


@compiled
def _condense(rows: FloatArray, whole: IntArray, index: IntArray, at: Places) -> None:
    """Set the cold side's conductance from the vapour that just left, as in ``condensing``."""
    fresh, nothing = load(rows, at.fresh) > spread(0.0), spread(0.0)
    supply = load(rows, at.supply) + load(rows, at.condensing) * load(rows, at.spent) - load(rows, at.given)
    supply = larger(supply, nothing)
    sink, reach = at.sink_nodes - at.colds, nothing
    for turn in range(at.colds):
        cold = temperature_of(rows, whole, index, at, entry(index, at.sink + sink + turn), at.enthalpy)
        colder = larger(load(rows, at.sink_temperature + sink + turn) - cold, nothing)
        reach = reach + load(rows, at.cold_area + turn) * colder
    taken, most = reach * load(rows, at.length), spread(CONDENSING_FILM)
    film = choose(supply < most * taken, supply / taken, most)
    for turn in range(at.colds):
        cold = temperature_of(rows, whole, index, at, entry(index, at.sink + sink + turn), at.enthalpy)
        opens = (supply > nothing) & (cold < load(rows, at.sink_temperature + sink + turn))
        conductance = choose(opens, film * load(rows, at.cold_area + turn), nothing)
        place = at.sink_conductance + sink + turn
        store(rows, place, choose(fresh, conductance, load(rows, place)))
    store(rows, at.supply, choose(fresh, supply, load(rows, at.supply)))


@compiled
def first_lengths(rows: FloatArray, whole: IntArray, index: IntArray, at: Places) -> None:
    """Set the first length of the cases that just began, by how fast their worst region warms."""
    for node in range(at.nodes):
        speed = load(rows, at.rate + node) / load(rows, at.volume + node)
        store(rows, at.right + node, speed * load(rows, at.temperature_slope + node))
    store(rows, at.error, worst_region(rows, index, at, at.right))
    for case in range(WIDTH):
        if whole[at.case_status, case] != MARCHING or whole[at.case_rows, case] != 0:
            continue
        fastest, span = 0.0, rows[at.case_span, case]
        for lane in range(WIDTH):
            if whole[at.case, lane] == case:
                fastest = max(fastest, rows[at.error, lane])
        wanted = 10.0 * rows[at.case_tolerance, case] / fastest if 0.0 < fastest < np.inf else span
        rows[at.case_length, case] = min(0.01 * span, wanted)
