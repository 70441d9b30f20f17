"""Fresh random designs, each on a flight of its own: the cost from a study's numbers to its metrics.

Reading the study's text and reckoning the flight are left out, strength too. Each draw has another outline,
so that nothing kept from an earlier one serves; materials' tables and topologies stay, as in a search.
"""

import time
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import islice
from typing import NamedTuple

import numpy as np
from marched import STUDY

from optitip.errors import DesignFailure
from optitip.evaluate.building import Tip, build_tip
from optitip.evaluate.conditions import Conditions
from optitip.evaluate.heatings import expected_name, flown_heatings, states_of
from optitip.evaluate.warming import heat_case
from optitip.flight.ascent import from_ascent
from optitip.flight.atmosphere import site_atmosphere
from optitip.flight.trajectory import Flight
from optitip.flight.vehicle import Vehicle
from optitip.geometry.topology import Resolution
from optitip.heating.knots import knots_of
from optitip.inputs.study import Study, read_study
from optitip.metrics.sample import sample_metrics, set_fraction, trace_sample
from optitip.metrics.shell import mass_metrics, part_metrics
from optitip.search.quasi_random import drawn
from optitip.search.space import Space
from optitip.solvers.batch import march_batch
from optitip.solvers.case import HeatCase
from optitip.solvers.history import History
from optitip.solvers.march import march_together

BATCH = 32
STAGES = ("geometry and mesh", "heating", "assembly", "march", "metrics")
_SHAPES = {"outline.length": ("380 mm", "460 mm"), "outline.tip_radius": ("2 mm", "5 mm")}
_MOTOR = {"time": [0.0, 0.05, 1.1, 3.4, 3.5], "thrust": [0.0, 2100.0, 2240.0, 1700.0, 0.0]}
_DRAG = {"mach": [0.0, 0.8, 1.1, 2.0, 3.0], "coefficient": [0.40, 0.42, 0.62, 0.45, 0.36]}


@dataclass(frozen=True, kw_only=True, eq=False)
class Draw:
    """A design of the study and the flight it is on."""

    study: Study
    flight: Flight
    start: float
    """[K]"""


@dataclass(kw_only=True)
class Costs:
    """CPU times of each stage [s], a list of all designs, and how many couldn't be built."""

    stages: dict[str, list[float]] = field(default_factory=lambda: {name: [] for name in STAGES})
    failed: int = 0

    def all_in(self):
        """Return each design's sum (n,) [s]."""
        return np.sum([self.stages[name] for name in STAGES], axis=0)

    def median(self, name):
        """Return the median of one stage [s]."""
        return float(np.median(self.stages[name]))


def draws(count: int, *, seed: int) -> Iterator[Draw]:
    """Yield random designs on random flights: Mach 1.6 to 3.6, other burns, masses, sites and days."""
    written = read_study(STUDY)
    sweep = written.tables.sweep
    space = Space({**sweep.free, **_SHAPES}, sweep.choices)
    rng = np.random.default_rng(seed)
    for design in drawn(space, count, seed=seed):
        study = written.with_design({**design, "sample.pocket.air": "sealed"})
        burn, push, start = rng.uniform(0.7, 1.6), rng.uniform(0.75, 1.3), rng.uniform(280.0, 305.0)
        air = site_atmosphere(rng.uniform(0.0, 1500.0), temperature=start, pressure=None)
        vehicle = Vehicle(
            thrust_time=burn * np.array(_MOTOR["time"]),
            thrust=push / burn**0.5 * np.array(_MOTOR["thrust"]),
            start_mass=rng.uniform(7.0, 9.0),
            propellant_mass=2.9,
            diameter=0.084,
            drag_mach=_DRAG["mach"],
            drag_coefficient=rng.uniform(0.85, 1.15) * np.array(_DRAG["coefficient"]),
        )
        yield Draw(study=study, flight=from_ascent(vehicle, atmosphere=air, soak=300.0), start=start)


class _Watch:
    """Adds the CPU time since it was last read."""

    def __init__(self) -> None:
        self._last = time.process_time()

    def __call__(self) -> float:
        now = time.process_time()
        spent, self._last = now - self._last, now
        return spent


class _Ready(NamedTuple):
    """A tip, the case to march, and what the three stages before it cost [s]."""

    tip: Tip
    case: HeatCase
    spent: list[float]


def _prepared(draw: Draw, *, resolution: Resolution) -> _Ready:
    watch, tables, flight = _Watch(), draw.study.tables, draw.flight
    tip = build_tip(tables, folder=draw.study.folder, resolution=resolution)
    spent = [watch()]
    expected = expected_name(tables.flow)
    heatings = flown_heatings(
        flight,
        outline=tip.outline,
        states=tuple(one for one in states_of(tables.flow) if one.name == expected),
        surroundings=tables.flow.surroundings,
        wind=0.0,
        sun=0.0,
        warmest=0.0,
        turbulent_law=tables.flow.turbulent_law,
        roughness=tables.flow.roughness,
    )
    conditions = Conditions(
        flight=flight,
        heatings=heatings,
        start=draw.start,
        sample_start=draw.start,
        lift_off=0.0,
        landing=flight.events["landing"],
        kinks=(*flight.kinks, *knots_of(heatings[expected])),
        pocket_pressure=1e5,
        warnings=(),
    )
    spent.append(watch())
    case = heat_case(tip, conditions=conditions, heatings=[heatings[expected]], models={})
    return _Ready(tip, case, [*spent, watch()])


def _metrics(draw: Draw, tip: Tip, history: History) -> dict[str, float]:
    slab, cells = tip.nodes_of("slab"), tip.cells_of("slab")
    corners = tip.mesh.cells[cells].T.ravel()
    volume = np.bincount(corners, tip.corner_volume[:, cells].ravel(), minlength=len(tip.mesh.points))[slab]
    temperature = history.temperature[:, slab]
    trace = trace_sample(
        history.time,
        temperature,
        slope=history.slope[:, slab],
        volume=volume,
        material=tip.sample,
        evaporated=history.evaporated[:, slab],
        lift_off=0.0,
    )
    contact = next(pairs for pairs in tip.mesh.joints if pairs.name == "sample")
    found = sample_metrics(
        trace,
        landing=draw.flight.events["landing"],
        contact_area=float(contact.area.sum()),
        mass=tip.sample.density * float(volume.sum()),
        warm_above=tip.tables.sample.warm_above,
        material=tip.sample,
        setting=set_fraction(temperature, volume),
    )
    cells = np.concatenate([tip.cells_of(part) for part in ("plug", "band", "base")])
    corners = tip.corner_volume[:, cells]
    axial = (corners * tip.mesh.points[tip.mesh.cells[cells], 1].T).sum(axis=0) / corners.sum(axis=0)
    density = np.array([one.density for one in tip.materials])[tip.cell_material[cells]]
    peaks = {part: float(history.highest[tip.nodes_of(part)].max()) for part in ("plug", "band", "base")}
    return {
        **found,
        **mass_metrics(density=density, volume=corners.sum(axis=0), axial=axial),
        **part_metrics(peaks),
    }


def plain_costs(count: int, *, seed: int, resolution: Resolution) -> Costs:
    """Return what fresh designs cost by the plain march, one at a time."""
    return _costs(count, seed=seed, resolution=resolution, batch=1, march=_one_by_one)


def compiled_costs(count: int, *, seed: int, resolution: Resolution) -> Costs:
    """Return the same by compiled batches; the march of each is its batch's share."""
    return _costs(count, seed=seed, resolution=resolution, batch=BATCH, march=march_batch)


def _one_by_one(cases):
    return [march_together(case) for case in cases]


def cases(count: int, *, seed: int, resolution: Resolution) -> list[HeatCase]:
    """Return what ``count`` fresh designs hand to the march, those that can't be built left out."""
    ready = (_built(draw, resolution=resolution) for draw in draws(2 * count, seed=seed))
    return [one.case for one in ready if one is not None][:count]


def _built(draw: Draw, *, resolution: Resolution) -> _Ready | None:
    try:
        return _prepared(draw, resolution=resolution)
    except DesignFailure:
        return None


def _costs(count: int, *, seed: int, resolution: Resolution, batch: int, march) -> Costs:
    costs = Costs()
    pairs = ((draw, _built(draw, resolution=resolution)) for draw in draws(count, seed=seed))
    while waiting := list(islice(pairs, batch)):
        built = [(draw, ready) for draw, ready in waiting if ready is not None]
        costs.failed += len(waiting) - len(built)
        watch = _Watch()
        answers = march([ready.case for _, ready in built])
        share = watch() / max(len(built), 1)
        for (draw, ready), answer in zip(built, answers, strict=True):
            if isinstance(answer, DesignFailure):
                costs.failed += 1
                continue
            watch()
            _metrics(draw, ready.tip, answer[0])
            for name, spent in zip(STAGES, [*ready.spent, share, watch()], strict=True):
                costs.stages[name].append(spent)
    return costs
