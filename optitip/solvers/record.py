"""The accepted instants of a march, gathered while it runs and summed up at its end."""

from dataclasses import dataclass, field

import numpy as np

from optitip.arrays import FloatArray, frozen, read_only
from optitip.solvers.balance import balance_scale, border_heat
from optitip.solvers.case import HeatCase
from optitip.solvers.dense import peak
from optitip.solvers.history import History
from optitip.solvers.linearised import LinearisedHeat
from optitip.solvers.system import HeatSystem


@dataclass(slots=True)
class Record:
    """What each accepted instant leaves, each ``(n_states, ...)``: temperature, its slopes, the state, ..."""

    time: list[float] = field(default_factory=list)
    temperature: list[FloatArray] = field(default_factory=list)
    slope: list[FloatArray] = field(default_factory=list)
    slope_after: list[FloatArray] = field(default_factory=list)
    state: list[FloatArray] = field(default_factory=list)
    evaporated: list[FloatArray] = field(default_factory=list)
    capacity: FloatArray | None = None

    def keep(self, here: LinearisedHeat, *, system: HeatSystem, slope: FloatArray) -> None:
        """Take an instant with the slope of its state just before it."""
        if self.capacity is None:
            self.capacity = (system.volume / here.thermal.temperature_slope).sum(axis=1)
        self.time.append(here.time)
        self.temperature.append(here.thermal.temperature)
        self.slope.append(here.warming(slope))
        self.state.append(here.state)
        self.evaporated.append(system.evaporated)

    def leave(self, here: LinearisedHeat, *, slope: FloatArray) -> None:
        """Take the slope of the state just after the last instant, known once a step has left it."""
        self.slope_after.append(here.warming(slope))

    def histories(self, case: HeatCase, *, steps: int, rejected: int) -> tuple[History, ...]:
        """Return the whole march of each state, with the heat of each region and both balances."""
        time = frozen(self.time)
        # states before instants, so that each state's own are one block that nobody has to copy
        after = [*self.slope_after, self.slope[-1]]
        temperature, slope, slope_after, state, evaporated = (
            read_only(np.stack(rows, axis=1))
            for rows in (self.temperature, self.slope, after, self.state, self.evaporated)
        )
        capacity = np.zeros(len(case.models)) if self.capacity is None else self.capacity
        return tuple(
            _history(
                case,
                number=number,
                time=time,
                temperature=temperature[number],
                slope=slope[number],
                slope_after=slope_after[number],
                state=state[number],
                evaporated=evaporated[number],
                capacity=float(capacity[number]),
                steps=steps,
                rejected=rejected,
            )
            for number in range(len(case.models))
        )


def _history(
    case: HeatCase,
    *,
    number: int,
    time: FloatArray,
    temperature: FloatArray,
    slope: FloatArray,
    slope_after: FloatArray,
    state: FloatArray,
    evaporated: FloatArray,
    capacity: float,
    steps: int,
    rejected: int,
) -> History:
    """Return the march of one state; ``state`` holds enthalpies, a pocket's temperature, borders' heats."""
    model, surface = case.models[number], case.surfaces[number]
    nodes, pocket = model.volume.size, model.enclosure
    heats = nodes + (pocket is not None)
    sunk = heats + 2 + len(case.sinks)
    boiled = evaporated - evaporated[0]
    taken = state[:, :nodes] - state[0, :nodes]
    crossed = state[:, heats:sunk]
    condensed = state[:, sunk:].sum(axis=1)
    stored = float(taken[-1] @ model.volume) - float(condensed[-1])
    if pocket is not None:
        stored += pocket.heat_capacity * float(state[-1, nodes] - state[0, nodes])
    net, gross = border_heat(
        surface, sinks=case.sinks, time=time, temperature=temperature, slope=slope, slope_after=slope_after
    )
    scale = balance_scale(gross, capacity=capacity)
    return History(
        time=time,
        temperature=temperature,
        slope=slope,
        slope_after=slope_after,
        highest=read_only(peak(time, values=temperature, slopes=slope, after=slope_after)),
        evaporated=evaporated,
        condensed=read_only(condensed),
        pocket=None if pocket is None else frozen(state[:, nodes]),
        regions=model.regions,
        sensible=read_only((taken - boiled) @ model.region_volume.T),
        latent=read_only(boiled @ model.region_volume.T),
        convected=frozen(crossed[:, 0]),
        radiated=frozen(crossed[:, 1]),
        sunk=frozen(crossed[:, 2:]),
        closure=(stored - float(crossed[-1].sum())) / scale,
        balance=(stored - net) / scale,
        steps=steps,
        rejected=rejected,
    )
