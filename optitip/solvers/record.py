"""The accepted instants of a march, gathered while it runs and summed up at its end."""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from optitip.arrays import FloatArray, frozen
from optitip.solvers.assembly import HeatModel
from optitip.solvers.balance import border_heat
from optitip.solvers.body import Sink, Surface
from optitip.solvers.dense import peak
from optitip.solvers.history import History
from optitip.solvers.system import HeatSystem, LinearisedHeat


@dataclass(slots=True)
class Record:
    """What each accepted instant leaves: time, temperature, its slope, the state, what has evaporated."""

    capacity: float = 0.0
    time: list[float] = field(default_factory=list)
    temperature: list[FloatArray] = field(default_factory=list)
    slope: list[FloatArray] = field(default_factory=list)
    state: list[FloatArray] = field(default_factory=list)
    evaporated: list[FloatArray] = field(default_factory=list)

    def keep(self, here: LinearisedHeat, *, system: HeatSystem, slope: FloatArray) -> None:
        """Take an instant with the slope of its state."""
        if not self.time:
            self.capacity = float(system.model.volume @ (1.0 / here.thermal.temperature_slope))
        self.time.append(here.time)
        self.temperature.append(here.thermal.temperature)
        self.slope.append(here.warming(slope))
        self.state.append(here.state)
        self.evaporated.append(system.evaporated)

    def history(
        self, *, model: HeatModel, surface: Surface, sinks: Sequence[Sink], steps: int, rejected: int
    ) -> History:
        """Return the whole march, with the heat of each region and both balances."""
        nodes = model.volume.size
        state, evaporated = np.array(self.state), frozen(self.evaporated)
        time, temperature, slope = frozen(self.time), frozen(self.temperature), frozen(self.slope)
        boiled = evaporated - evaporated[0]
        taken = state[:, :nodes] - state[0, :nodes]
        crossed = state[:, nodes:]
        stored = float(taken[-1] @ model.volume)
        net, gross = border_heat(surface, sinks=sinks, time=time, temperature=temperature, slope=slope)
        scale = gross if gross > 0.0 else self.capacity
        return History(
            time=time,
            temperature=temperature,
            slope=slope,
            highest=frozen(peak(time, values=temperature, slopes=slope)),
            evaporated=evaporated,
            regions=model.regions,
            sensible=frozen((taken - boiled) @ model.region_volume.T),
            latent=frozen(boiled @ model.region_volume.T),
            convected=frozen(crossed[:, 0]),
            radiated=frozen(crossed[:, 1]),
            sunk=frozen(crossed[:, 2:]),
            closure=(stored - float(crossed[-1].sum())) / scale,
            balance=(stored - net) / scale,
            steps=steps,
            rejected=rejected,
        )
