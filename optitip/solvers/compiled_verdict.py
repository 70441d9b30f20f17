"""The verdict on a step of eight lanes, case by case, as ``march`` has it: a case's worst lane decides."""

from math import isfinite

import numpy as np

from optitip.arrays import FloatArray, IntArray
from optitip.solvers.compiled_layout import VAPOUR, Places
from optitip.solvers.compiled_rates import spent_heat, temperature_of
from optitip.solvers.compiled_step import worst_region
from optitip.solvers.compiled_surface import larger
from optitip.solvers.condensing import CONDENSING_FILM
from optitip.solvers.lanes import WIDTH, choose, compiled, entry, load, number_at, spread, store
from optitip.solvers.march import GROWTH, MOST_STEPS, ROUND_OFF, SAFETY, SHRINK

MARCHING, DONE, STALLED, FULL = 1, 2, 3, 4


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
