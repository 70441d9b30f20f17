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
from optitip.solvers.enthalpy import start_enthalpy
from optitip.solvers.history import History
from optitip.solvers.record import Record
from optitip.solvers.system import HeatSystem, LinearisedHeat

MOST_STEPS = 20_000
_GROWTH = 3.0
_SHRINK = 0.2
_SAFETY = 0.85
_ROUND_OFF = 1e-3


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
    """Return the temperatures in time of a body under its heating.

    V e' = -K tau(e) + joints + surface + sinks, with the enthalpy e as the conserved unknown.

    surface: the heated side (none: insulated). sinks: constant temperatures behind conductances [W/K].
    start: ``(n_nodes,)`` or one temperature [K]. kinks: instants [s] a step must end on; all knots of a
    coarse table belong among them, those of a fine one need not. tolerance [K]: bound on the error estimate
    of each step, the root mean square over the worst region. Heat is positive into the body; water that boils
    away keeps its latent heat.

    Valid while the materials' tables hold; beyond them they go on straight. A step that shrinks to nothing,
    or more than 20,000 steps, is a DesignFailure (the march stalled).

    Source: Sandu, Verwer, Blom, Spee, Carmichael & Potra 1997, Atmos. Environ. 31, 3459 (RODAS3).
    """
    given = surface if surface is not None else _insulated()
    begin = np.full(model.volume.size, start) if np.ndim(start) == 0 else np.array(start, dtype=np.float64)
    enthalpy, evaporated = start_enthalpy(begin, tables=model.tables, node_material=model.node_material)
    system = HeatSystem(model, surface=given, sinks=sinks, evaporated=evaporated)
    state = np.concatenate([enthalpy, np.zeros(system.mass.size - enthalpy.size)])
    stops = sorted({time for time in kinks if start_time < time < end_time} | {end_time})
    # a stage that overflows has no error to speak of: the pilot rejects it
    with np.errstate(over="ignore", invalid="ignore"):
        here = system.linearise(start_time, state)
        length = _first_length(here, model=model, tolerance=tolerance, span=end_time - start_time)
        pilot = _Pilot(tolerance=tolerance, length=length)
        record = Record()
        record.keep(here, system=system, slope=here.rate / system.mass)
        for stop in stops:
            while here.time < stop:
                trial, time = _advance(here, system=system, pilot=pilot, stop=stop)
                system.settle(trial.state)
                here = system.linearise(time, trial.state)
                record.keep(here, system=system, slope=trial.slope)
    return record.history(model=model, surface=given, sinks=sinks, steps=pilot.steps, rejected=pilot.rejected)


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
        factor = _GROWTH if error == 0.0 else _SAFETY * cbrt(self.tolerance / error)
        factor = min(max(factor, _SHRINK), _GROWTH) if isfinite(error) else _SHRINK
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
        if pilot.steps + pilot.rejected >= MOST_STEPS or here.time + _ROUND_OFF * length == here.time:
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
        if pilot.judge(_error(trial.error, here=here, model=system.model), length=length, cut=cut):
            return trial, stop if cut else here.time + length


def _error(error: FloatArray, *, here: LinearisedHeat, model: HeatModel) -> float:
    # the sensible slope also where water boils: there it counts the heat, which the temperature hides
    kelvin = error[: model.volume.size] * here.thermal.temperature_slope
    kelvin *= kelvin
    return sqrt((model.region_mean @ kelvin).max())


def _first_length(here: LinearisedHeat, *, model: HeatModel, tolerance: float, span: float) -> float:
    nodes = model.volume.size
    kelvin_per_second = here.rate[:nodes] / model.volume * here.thermal.temperature_slope
    fastest = float(np.sqrt((model.region_mean @ kelvin_per_second**2).max()))
    return min(0.01 * span, 10.0 * tolerance / fastest if fastest > 0.0 else span)


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
