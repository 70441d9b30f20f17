"""Whole tips at the ends of their ranges: against scipy on scikit-fem's matrices, a formula, or finer runs.

Tolerances: 0.1 % of the heat taken up and 0.25 K against scipy on the same mesh.
"""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from by_solve_ivp import Outside, Plain, temperatures

from optitip.errors import Outcome
from optitip.evaluate.assess import assess
from optitip.evaluate.building import build_tip
from optitip.evaluate.conditions import conditions_of
from optitip.evaluate.warming import heat_body, nose_sink, surface_of
from optitip.geometry.mesh import DEFAULT_RESOLUTION
from optitip.inputs.study import read_study
from optitip.solvers.assembly import assemble
from optitip.solvers.march import march

STUDIES = Path(__file__).parents[2] / "studies"
EGG, COUPON = read_study(STUDIES / "coastal-egg"), read_study(STUDIES / "polymer-coupon")
PLAIN = {
    "6061-T6": Plain(conductivity=167.0, heat_capacity=2.42e6),
    "304": Plain(conductivity=15.0, heat_capacity=3.9e6),
    "egg-white": Plain(conductivity=0.55, heat_capacity=4.0e6),
    "PTFE": Plain(conductivity=0.25, heat_capacity=2.2e6),
    "C110": Plain(conductivity=388.0, heat_capacity=3.4e6),
}
INSERT = {"tip.plug.insert": "20 mm", "tip.plug.material": "304", "tip.plug.joint": "1e8 W/(m2 K)"}
DESIGNS = {
    "a tip radius of 0.3 mm": {"outline.tip_radius": "0.3 mm"},
    "a tip radius of 20 mm": {"outline.tip_radius": "20 mm"},
    "a wall of 0.3 mm": {"tip.band.thickness": "0.3 mm", "tip.plug.wall": "0.6 mm"},
    "a wall of 12 mm": {
        **{"tip.band.thickness": "12 mm", "tip.plug.wall": "8 mm", "tip.plug.fillet": "0.5 mm"},
        **{"tip.plug.length": "80 mm", "tip.band.length": "37 mm", "tip.base.thickness": "14 mm"},
    },
    "an insert of steel, bonded": INSERT,
    "steel with a base of copper": {
        **{"tip.material": "304", "tip.base.material": "C110", "tip.base.joint": "50 W/(m2 K)"},
    },
    "a strip with a backing": {
        "sample.slab.share": 0.05,
        "sample.backing.material": "PTFE",
        "sample.backing.thickness": "1 mm",
    },
    "a joint of 1e8": {"sample.joint.conductance": "1e8 W/(m2 K)"},
}  # fmt: skip


@pytest.mark.parametrize("name", DESIGNS)
def test_a_tip_in_flight_warms_as_scipy_says(name, solid):
    """A minute of the coastal flight, laminar films at a wall of 300 K; the pocket's air left out."""
    study = EGG.with_design({**DESIGNS[name], "sample.pocket.air": "sealed"})
    tip = build_tip(study.tables, folder=study.folder, resolution=DEFAULT_RESOLUTION)
    conditions = conditions_of(study, tip)
    heating = conditions.heatings["laminar"]
    plains = [PLAIN[one.name] for one in tip.materials]
    body = replace(
        heat_body(tip, filled=max(0.3, tip.share), pocket_pressure=101325.0, start=300.0),
        materials=tuple(solid(one.conductivity, heat_capacity=one.heat_capacity) for one in plains),
        enclosure=None,
    )
    surface = surface_of(tip, heating)
    column = int(np.argmin(np.abs(surface.wall - 300.0)))
    surface = replace(surface, wall=[300.0], film=surface.film[:, :, [column]], emissivity=0.0 * surface.area)
    sink, at = nose_sink(tip, start=300.0), np.array([3.0, 8.0, 20.0, 60.0])
    rows = [np.interp(t, surface.time, np.arange(surface.time.size)) for t in at]
    assert max(rows) < surface.time.size - 1
    model = assemble(body)
    history = march(
        model, surface=surface, sinks=[sink], start=300.0, end_time=at[-1], kinks=(*heating.time, *at)
    )
    expected, capacity = temperatures(
        body,
        plains,
        outside=Outside(
            nodes=surface.nodes,
            area=surface.area,
            film=lambda t: _at(t, surface.time, surface.film[:, :, 0]),
            recovery=lambda t: _at(t, surface.time, surface.recovery),
        ),
        start=np.full(model.volume.size, 300.0),
        at=at,
        sinks=[sink],
        most=2.0,
    )
    found = history.temperature_at(at, nodes=np.arange(model.volume.size))
    assert np.abs(found - expected).max() < 0.25
    rows = np.searchsorted(history.time, at)
    stored = (expected - 300.0) @ capacity
    assert history.heat_in[rows] == pytest.approx(stored, abs=1e-3 * stored.max())
    slab = np.zeros(model.volume.size)
    slab[tip.nodes_of("slab")] = capacity[tip.nodes_of("slab")]
    taken = (expected - 300.0) @ slab
    mine = (found - 300.0) @ slab
    assert mine == pytest.approx(taken, abs=1e-3 * np.abs(taken).max())


def _at(time, times, rows):
    row = min(max(int(np.searchsorted(times, time)) - 1, 0), len(times) - 2)
    share = np.clip((time - times[row]) / (times[row + 1] - times[row]), 0.0, 1.0)
    return rows[row] * (1.0 - share) + rows[row + 1] * share


def test_a_coating_is_a_resistance_in_series_with_the_film():
    """1/h' = 1/h + t/k, node by node; and the energy falls with every layer of it."""
    energies = []
    for thickness in ("0.001 mm", "0.1 mm", "0.5 mm", "3 mm"):
        study = COUPON.with_design({"tip.coating.thickness": thickness})
        tip = build_tip(study.tables, folder=study.folder, resolution=DEFAULT_RESOLUTION)
        bare = build_tip(
            COUPON.with_design({"tip.coating.conductivity": "5000 W/(m K)"}).tables,
            folder=COUPON.folder,
            resolution=DEFAULT_RESOLUTION,
        )
        heating = conditions_of(study, tip).heatings["turbulent"]
        film, plain = surface_of(tip, heating).film, surface_of(bare, heating).film
        hot = plain > 1.0
        layer = tip.tables.tip.coating
        added = 1.0 / film[hot] - 1.0 / plain[hot]
        assert added == pytest.approx(layer.thickness / layer.conductivity - 1e-4 / 5000.0, abs=1e-9)
        energies.append(assess(study, design={}, searching=True).metrics["sample.energy_peak"].expected)
    assert energies == sorted(energies, reverse=True)
    assert energies[-1] < 0.7 * energies[0]


@pytest.mark.parametrize("attitude", ["forward", "across", "inside"])
def test_an_open_base_lets_air_at_the_base_and_only_on_the_way_down(attitude):
    """What it changes comes after the apogee: peaks on the way up are those of a closed one."""
    found = {}
    for base in ("closed", "open"):
        design = {"flight.descent.base": base, "flight.descent.attitude": attitude}
        assessment = assess(EGG, design=design, searching=True)
        assert assessment.outcome is Outcome.ANSWERED
        assert all(abs(state.balance) < 1e-3 for state in assessment.states.values())
        found[base] = assessment.metrics
    for name in ("band.temperature_peak", "plug.temperature_peak"):
        assert found["open"][name].expected == pytest.approx(found["closed"][name].expected, abs=0.05), name
    landed = "sample.energy_landing"
    assert found["open"][landed].expected < found["closed"][landed].expected + 0.05


@pytest.mark.parametrize("air", ["vented", "sealed"])
@pytest.mark.parametrize("wait", ["0 s", "3 h"])
def test_a_wait_of_any_length_and_a_soak_of_any_length_have_an_answer(air, wait):
    for soak in ("0 s", "12 h"):
        design = {"flight.pad.wait": wait, "flight.soak": soak, "sample.pocket.air": air}
        assessment = assess(EGG, design=design, searching=True)
        assert assessment.outcome is Outcome.ANSWERED, assessment.detail
        assert all(abs(state.balance) < 1e-3 for state in assessment.states.values())
