"""Heat cases on a study's own bodies under an invented heating: hot, then cold, rough in time and wall."""

from dataclasses import replace
from pathlib import Path

import numpy as np

from optitip.evaluate.building import build_tip
from optitip.evaluate.warming import heat_body, nose_sink
from optitip.geometry.mesh import DEFAULT_RESOLUTION
from optitip.geometry.sides import edge_areas
from optitip.inputs.study import read_study
from optitip.solvers.assembly import assemble
from optitip.solvers.body import ColdSide, Enclosure, Surface
from optitip.solvers.case import HeatCase

STUDY = Path(__file__).parents[2] / "studies" / "coastal-egg"
TIMES = np.array([0.0, 1.0, 2.5, 4.0, 7.0, 11.0, 18.0, 30.0])


def tip_surface(tip, *, strength=1.0, walls=4, emissivity=0.3, absorbed=0.0, times=TIMES):
    """Return a heating that rises to the third knot and cools after it, films falling with the wall."""
    mesh = tip.mesh
    along = np.linspace(1.0, 0.3, mesh.outer.size)
    wall = np.linspace(250.0, 900.0, walls) ** 1.1 / 250.0**0.1 if walls > 1 else np.array([300.0])
    course = strength * np.interp(times, TIMES, [20.0, 900.0, 1400.0, 500.0, 120.0, 60.0, 30.0, 15.0])
    recovery = np.interp(times, TIMES, [290.0, 600.0, 760.0, 600.0, 300.0, 285.0, 280.0, 285.0])
    return Surface(
        nodes=mesh.outer,
        area=edge_areas(mesh.points, mesh.outer_edges)[mesh.outer],
        time=times,
        wall=wall,
        film=course[:, None, None] * along[:, None] * (1.3 - 0.0005 * wall),
        recovery=recovery[:, None] * (0.97 + 0.03 * along),
        emissivity=np.full(mesh.outer.size, emissivity),
        surroundings=np.linspace(280.0, 220.0, times.size),
        absorbed=absorbed * course[:, None] * along,
    )


def tip_of(design, *, resolution=DEFAULT_RESOLUTION):
    """Return the study's tip with a design's keys set."""
    study = read_study(STUDY).with_design(design)
    return build_tip(study.tables, folder=study.folder, resolution=resolution)


def tip_case(
    design=(), *, surfaces=({},), resolution=DEFAULT_RESOLUTION, start=290.0, pocket=False, **options
):
    """Return a case on a tip: one state for each set of options of ``tip_surface``.

    pocket: whether slab and shell exchange heat through a closed pocket, and vapour may condense behind.
    """
    tip = tip_of(dict(design), resolution=resolution)
    body = heat_body(tip, filled=0.8, pocket_pressure=70e3, start=start)
    if pocket:
        slab = tip.nodes_of("slab")[::5]
        faces = np.concatenate([slab, tip.nodes_of("base")[::7]])
        body = replace(
            body,
            enclosure=Enclosure(
                nodes=faces,
                area=np.full(faces.size, 2e-4),
                film=12.0,
                emissivity=np.full(faces.size, 0.7),
                heat_capacity=0.3,
            ),
            cold_side=ColdSide(nodes=slab[-4:], area=np.full(4, 2e-4)),
        )
    heated = tuple(tip_surface(tip, **one) for one in surfaces)
    return HeatCase(
        models=(assemble(body),) * len(heated),
        surfaces=heated,
        sinks=(nose_sink(tip, start=start),),
        start=np.full(len(tip.mesh.points), start),
        end_time=30.0,
        kinks=tuple(TIMES),
        **options,
    )


HEATS = ("sensible", "latent", "convected", "radiated", "sunk", "condensed")


def apart(found, expected):
    """Return how far two marches of one case are apart: the largest difference as a share of its own scale.

    Scales are the rise of temperature, the steepest slope, the heat moved, the end time, and 1 for what is a
    share already. Infinite where the steps differ.
    """
    worst = 0.0
    for one, other in zip(found, expected, strict=True):
        if (one.steps, one.rejected) != (other.steps, other.rejected):
            return np.inf
        moved = max(np.abs(getattr(other, key)).max() for key in ("sensible", "latent", "convected"))
        scales = {"time": other.time[-1], "slope": np.abs(other.slope).max(), "closure": 1.0, "balance": 1.0}
        scales |= dict.fromkeys(("temperature", "highest", "pocket"), np.ptp(other.temperature))
        scales |= dict.fromkeys(HEATS, moved)
        scales["evaporated"] = max(np.abs(other.evaporated).max(), 1.0)
        for key, scale in scales.items():
            a, b = getattr(one, key), getattr(other, key)
            assert (a is None) == (b is None), key
            if a is not None:
                assert np.shape(a) == np.shape(b), key
                worst = max(worst, float(np.abs(np.asarray(a) - b).max(initial=0.0)) / scale)
        assert np.array_equal(one.regions, other.regions)
    return worst
