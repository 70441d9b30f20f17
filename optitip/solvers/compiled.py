"""The compiled march: many cases through eight lanes, each with its own time, its own steps and its own fate.

Lanes of one case share their steps; a finished case makes room for the next one. Nothing is shared between
designs but the topology, so each result is the plain march's, to round-off.
"""

from collections import defaultdict
from collections.abc import Callable, Sequence
from hashlib import sha256
from pathlib import Path

import numpy as np

from optitip.arrays import BoolArray, FloatArray, IntArray
from optitip.errors import DesignFailure, Outcome, OutOfRange
from optitip.solvers.batch import Marched, out_of_range
from optitip.solvers.case import HeatCase
from optitip.solvers.compiled_lane import Lanes, wall_grid
from optitip.solvers.compiled_layout import Places
from optitip.solvers.compiled_rates import linearise
from optitip.solvers.compiled_record import keep
from optitip.solvers.compiled_step import attempt
from optitip.solvers.compiled_topology import LaneTopology, topology_key, topology_of
from optitip.solvers.compiled_verdict import DONE, FULL, MARCHING, choose_lengths, judge
from optitip.solvers.condensing import Condensing
from optitip.solvers.lanes import WIDTH, compiled, compiled_once


@compiled
def _arrive(whole: IntArray, at: Places) -> bool:
    """Mark the cases that passed their last stop; True if there are any."""
    any_done = False
    for case in range(WIDTH):
        marching = whole[at.case_status, case] == MARCHING
        if marching and whole[at.case_stop, case] >= whole[at.case_stops, case]:
            whole[at.case_status, case] = DONE
            any_done = True
    return any_done


def fingerprint() -> int:
    """Return a number that changes with any source of the kernels: numba looks at the entry's file alone."""
    texts = [path.read_bytes() for path in sorted(Path(__file__).parent.glob("*.py"))]
    return int.from_bytes(sha256(b"".join(texts)).digest()[:7], "big")


def _entry(sources: int) -> Callable[[FloatArray, IntArray, IntArray, Places, bool], int]:
    @compiled_once
    def advance(rows: FloatArray, whole: IntArray, index: IntArray, at: Places, absorbs: bool) -> int:
        """March all lanes on until a case is done, stalled or out of room."""
        while True:
            linearise(rows, whole, index, at, absorbs)
            if not keep(rows, whole, index, at, absorbs) or _arrive(whole, at):
                return sources
            if not choose_lengths(rows, whole, at):
                return sources
            attempt(rows, whole, index, at, absorbs)
            judge(rows, whole, index, at)

    return advance


advance = _entry(fingerprint())


def march_lanes(cases: Sequence[HeatCase]) -> list[Marched]:
    """Return each case's histories, one a state, or why it failed; none has more states than lanes."""
    groups: dict[tuple[object, ...], list[int]] = defaultdict(list)
    for number, case in enumerate(cases):
        groups[topology_key(case.models[0], surface=case.surfaces[0], sinks=case.sinks)].append(number)
    results: dict[int, Marched] = {}
    for members in groups.values():
        results |= _march_group({number: cases[number] for number in members})
    return [results[number] for number in range(len(cases))]


def _march_group(cases: dict[int, HeatCase]) -> dict[int, Marched]:
    lanes = _lanes_for(list(cases.values()))
    waiting = list(cases.items())[::-1]
    running: dict[int, int] = {}
    results: dict[int, Marched] = {}
    while waiting or running:
        while waiting and (column := lanes.room(len(waiting[-1][1].models))) is not None:
            number, case = waiting.pop()
            try:
                lanes.load(case, column=column)
            except OutOfRange as failure:
                results[number] = out_of_range(failure)
            else:
                running[column] = number
        if running:
            advance(lanes.rows, lanes.whole, lanes.topology.index, lanes.topology.record, lanes.absorbs)
        for column, number in list(running.items()):
            if lanes.status(column) == FULL:
                lanes.enlarge(column)
            elif lanes.status(column) != MARCHING:
                results[number] = _result(lanes, column)
                del running[column]
    return results


def _result(lanes: Lanes, column: int) -> Marched:
    """Return what became of a case that marches no more, and give its lanes back."""
    result: Marched
    if lanes.status(column) == DONE:
        result = lanes.histories(column)
    else:
        where = lanes.where_stalled(column)
        result = DesignFailure(Outcome.MARCH_STALLED, place="flight", detail=where)
    lanes.release(column)
    return result


def _lanes_for(cases: Sequence[HeatCase]) -> Lanes:
    """Return lanes for all cases of one topology; what they share is kept from batch to batch."""
    first = cases[0]
    models = {id(model): model for case in cases for model in case.models}.values()
    pattern: BoolArray = np.zeros(first.models[0].stiffness.shape, dtype=bool)
    boils: BoolArray = np.zeros(len(first.models[0].tables), dtype=bool)
    melts: BoolArray = np.zeros_like(boils)
    for model in models:
        pattern |= model.stiffness != 0.0
        boils |= np.isfinite([table.saturated for table in model.tables])
        melts |= np.array([table.least_slope > 0.0 for table in model.tables])
    steps = max(wall_grid(surface).steps for case in cases for surface in case.surfaces)
    condensing = any(Condensing(case.models, shares=case.shares).works for case in cases if any(case.shares))
    shared = topology_key(first.models[0], surface=first.surfaces[0], sinks=first.sinks)
    key = (shared, pattern.tobytes(), boils.tobytes(), melts.tobytes(), steps, condensing)
    if key not in _KEPT:
        if len(_KEPT) >= _MOST_KEPT:
            _KEPT.clear()
        _KEPT[key] = topology_of(
            first.models[0],
            pattern=pattern,
            boils=boils,
            melts=melts,
            surface=first.surfaces[0],
            sinks=first.sinks,
            wall_steps=steps,
            condensing=condensing,
        )
    return Lanes(_KEPT[key])


_MOST_KEPT = 16
_KEPT: dict[tuple[object, ...], LaneTopology] = {}
