"""The heat march: a body's temperatures from the start to the end of its heating."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import cbrt, isfinite, sqrt

import numpy as np

from optitip.arrays import FloatArray
from optitip.errors import DesignFailure, Outcome
from optitip.solvers import rodas
from optitip.solvers.assembly import HeatModel
from optitip.solvers.banded import NotPositiveDefinite
from optitip.solvers.body import Sink, Surface
from optitip.solvers.case import HeatCase
from optitip.solvers.condensing import Condensing
from optitip.solvers.enthalpy import start_enthalpy
from optitip.solvers.history import History
from optitip.solvers.linearised import LinearisedHeat
from optitip.solvers.record import Record
from optitip.solvers.system import HeatSystem

MOST_STEPS = 20_000
GROWTH = 3.0
SHRINK = 0.2
SAFETY = 0.85
ROUND_OFF = 1e-3
# what a step's cubic may bend, as a multiple of the tolerance on its end
BEND = 10.0


def march(
    model: HeatModel,
    *,
    surface: Surface | None = None,
    sinks: Sequence[Sink] = (),
    start: FloatArray | float,
    end_time: float,
    start_time: float = 0.0,
    kinks: Sequence[float] = (),
    tolerance: float = 0.1,
) -> History:
    """Return the temperatures in time of a body under one heating: ``march_together`` has the equations.

    surface: the heated side (none: insulated). start: ``(n_nodes,)`` or one temperature [K]. The rest is as
    in ``HeatCase``.

    Valid as ``march_together``.

    Source: as ``march_together``.
    """
    case = HeatCase(
        models=(model,),
        surfaces=(surface if surface is not None else _insulated(),),
        sinks=tuple(sinks),
        start=np.broadcast_to(np.asarray(start, dtype=np.float64), model.volume.shape),
        start_time=start_time,
        end_time=end_time,
        kinks=tuple(kinks),
        tolerance=tolerance,
    )
    return march_together(case)[0]


def march_together(case: HeatCase) -> tuple[History, ...]:
    """Return the temperatures in time of a design in each of its flow states, all on the same steps.

    V e' = -K tau(e) + joints + surface + sinks + pocket, with the enthalpy e as the conserved unknown. Heat
    is positive into the body; water that boils away keeps its latent heat, but for the share that condenses.

    Valid while the materials' tables hold; beyond them they go on straight. A step that shrinks to nothing,
    or more than 20,000 steps, is a DesignFailure (the march stalled).

    Source: Sandu, Verwer, Blom, Spee, Carmichael & Potra 1997, Atmos. Environ. 31, 3459 (RODAS3).
    """
    model = case.models[0]
    enthalpy, evaporated = start_enthalpy(case.start, tables=model.tables, node_material=model.node_material)
    condensing = Condensing(case.models, shares=case.shares)
    system = HeatSystem(
        case.models,
        surfaces=case.surfaces,
        sinks=case.sinks,
        evaporated=np.tile(evaporated, (len(case.models), 1)),
        condensing=condensing if condensing.works else None,
    )
    state = system.begin(enthalpy, pocket=pocket_start(case))
    # a stage that overflows has no error to speak of: the pilot rejects it
    with np.errstate(over="ignore", invalid="ignore"):
        here = LinearisedHeat(system, time=case.start_time, state=state)
        length = _first_length(here, system=system, case=case)
        pilot = _Pilot(tolerance=case.tolerance, length=length)
        record = Record()
        record.keep(here, system=system, slope=here.rate / system.mass)
        for stop in case.stops():
            while here.time < stop:
                trial, time = _advance(here, system=system, pilot=pilot, stop=stop)
                record.leave(here, slope=trial.slope_after)
                _settle(trial.state, system=system, condensing=condensing, before=here, time=time)
                here = LinearisedHeat(system, time=time, state=trial.state)
                record.keep(here, system=system, slope=trial.slope)
    return record.histories(case, steps=pilot.steps, rejected=pilot.rejected)


@dataclass(slots=True)
class _Pilot:
    """The step length, and what it has cost so far."""

    tolerance: float
    length: float
    steps: int = 0
    rejected: int = 0

    def judge(self, error: float, *, length: float, cut: bool) -> bool:
        """Take the error of a step into the next length; True where the step is accepted."""
        accepted = error <= self.tolerance
        factor = GROWTH if error == 0.0 else SAFETY * cbrt(self.tolerance / error)
        factor = min(max(factor, SHRINK), GROWTH) if isfinite(error) else SHRINK
        if not accepted:
            self.rejected += 1
            self.length = length * min(factor, 0.9)
            return False
        self.steps += 1
        proposed = length * factor
        # a step cut short by a kink says little about the length it would have held
        self.length = max(self.length, proposed) if cut else proposed
        return True


def _advance(
    here: LinearisedHeat, *, system: HeatSystem, pilot: _Pilot, stop: float
) -> tuple[rodas.Step, float]:
    while True:
        rest = stop - here.time
        cut = pilot.length >= rest * (1.0 - 1e-9)
        # two even steps to a stop beat a long one and a stub
        length = rest if cut else min(pilot.length, 0.5 * rest)
        if pilot.steps + pilot.rejected >= MOST_STEPS or here.time + ROUND_OFF * length == here.time:
            raise DesignFailure(
                Outcome.MARCH_STALLED,
                place="flight",
                detail=f"at {here.time:.4g} s, step {length:.3g} s, after {pilot.steps} steps",
            )
        try:
            trial = rodas.step(system, start=here, length=length)
        except NotPositiveDefinite:
            pilot.judge(np.inf, length=length, cut=cut)
            continue
        error = _error(trial, here=here, system=system, length=length)
        if pilot.judge(error, length=length, cut=cut):
            return trial, stop if cut else here.time + length


def _settle(
    state: FloatArray, *, system: HeatSystem, condensing: Condensing, before: LinearisedHeat, time: float
) -> None:
    """Take a step as done: what boiled has left, and what of it condenses sets the cold side."""
    evaporated = system.evaporated
    system.settle(state)
    if condensing.works:
        conductance = condensing.conductance(
            system.thermal(state).temperature[:, condensing.nodes],
            spent=system.evaporated - evaporated,
            given=state[:, -1] - before.state[:, -1],
            length=time - before.time,
        )
        system.condense(conductance)


def _error(trial: rodas.Step, *, here: LinearisedHeat, system: HeatSystem, length: float) -> float:
    """Return the error of a step [K] in the worst region: at its end, and between, where that is more.

    Between, all is read off the cubic through both ends; its third difference h (T0' + T1') - 2 (T1 - T0) is
    small where the step followed its course. A long step over a transient is right at its end, which
    L-stability damps to, and nowhere else.
    """
    bend = here.warming(length * (trial.slope + trial.slope_after) - 2.0 * (trial.state - here.state))
    # the sensible slope also where water boils or ice melts: it counts the heat, which the temperature hides
    sensible, tables = here.thermal.temperature_slope, system.model.node_tables
    if tables.melts:
        sensible = np.maximum(sensible, tables.least_slope)
    kelvin = trial.error[:, : system.nodes] * sensible
    kelvin = np.maximum(np.abs(kelvin), np.abs(bend) / BEND)
    kelvin *= kelvin
    worst = sqrt(np.matmul(kelvin, system.model.region_mean.T).max())
    return max(worst, float(np.abs(trial.error[:, system.nodes : system.heats]).max(initial=0.0)))


def _first_length(here: LinearisedHeat, *, system: HeatSystem, case: HeatCase) -> float:
    kelvin_per_second = here.rate[:, : system.nodes] / system.volume * here.thermal.temperature_slope
    fastest = sqrt(np.matmul(kelvin_per_second**2, system.model.region_mean.T).max())
    span = case.end_time - case.start_time
    return min(0.01 * span, 10.0 * case.tolerance / fastest if fastest > 0.0 else span)


def pocket_start(case: HeatCase) -> float:
    """Return the pocket's temperature [K] at the start: the mean of its faces, by their area."""
    enclosure = case.models[0].enclosure
    if enclosure is None:
        return 0.0
    return float(enclosure.area @ case.start[enclosure.nodes] / enclosure.area.sum())


def _insulated() -> Surface:
    nodes = np.empty(0, dtype=np.int64)
    one, none = np.zeros(1), np.empty(0)
    return Surface(
        nodes=nodes,
        area=none,
        time=one,
        wall=one,
        film=np.empty((1, 0, 1)),
        recovery=np.empty((1, 0)),
        emissivity=none,
        surroundings=one,
    )
