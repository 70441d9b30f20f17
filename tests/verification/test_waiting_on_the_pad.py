"""A wait on the pad against what a line of algebra says of it."""

import json
from pathlib import Path

import numpy as np
import pytest
from scipy.optimize import brentq

from optitip.evaluate.assess import check
from optitip.evaluate.building import build_tip
from optitip.evaluate.conditions import conditions_of
from optitip.evaluate.record import as_mapping
from optitip.evaluate.warming import heat_body
from optitip.flight.trajectory import Flight, Phase
from optitip.geometry.mesh import DEFAULT_RESOLUTION
from optitip.heating.chain import heat
from optitip.heating.transition import EXPECTED
from optitip.inputs.study import read_study
from optitip.inputs.study_tables import Attitude
from optitip.solvers.body import Surface
from optitip.solvers.march import march
from optitip.solvers.surface import STEFAN_BOLTZMANN

EGG = read_study(Path(__file__).parents[2] / "studies" / "coastal-egg")
CALM = {"flight.start_temperature": "17 degC", "flight.site_temperature": "17 degC"}


def answer(design):
    return check(EGG.with_design({**CALM, **design}))


@pytest.fixture(scope="module")
def no_wait():
    return answer({})


def test_a_wait_of_no_time_is_no_wait_at_all(no_wait):
    said = []
    for assessment in (no_wait, answer({"flight.pad.wait": "0 s", "sample.start_temperature": "17 degC"})):
        mapping = as_mapping(assessment)
        mapping["study"].pop("fingerprint")
        said.append(json.dumps(mapping))
    assert said[0] == said[1]


def test_a_long_wait_in_air_as_warm_as_the_tip_changes_nothing(no_wait):
    waited = answer({"flight.pad.wait": "6 h", "flight.pad.wind": "4 m/s"})
    for name in ("sample.energy_peak", "sample.energy_landing", "band.temperature_peak", "margin.yield"):
        assert waited.metrics[name].expected == pytest.approx(no_wait.metrics[name].expected, rel=3e-3), name
    assert waited.expected.steps < no_wait.expected.steps + 15


def test_energy_counts_from_lift_off_and_temperature_from_the_start():
    waited = answer({"flight.pad.wait": "5 min", "sample.start_temperature": "4 degC"})
    for state in waited.states.values():
        trace = state.sample
        assert trace.time[0] == -300.0
        assert trace.time[trace.lift_off] == 0.0
        assert trace.energy[trace.lift_off] == 0.0
        assert trace.mean[0] == pytest.approx(277.15)
        assert trace.energy[0] < -100.0
        assert abs(state.balance) < 2e-3


def _radiated_to_the_back(tip, *, mean):
    """Return what a kelvin between bare walls and the slab's back moves [W/K]: both faces' own, in series."""
    pocket = heat_body(tip, filled=1.0, pocket_pressure=101325.0, start=290.0).enclosure
    each = pocket.area * pocket.emissivity * 4.0 * STEFAN_BOLTZMANN * mean**3
    behind = np.isin(pocket.nodes, tip.mesh.slab_rows[:, -1])
    return 1.0 / (1.0 / each[behind].sum() + 1.0 / each[~behind].sum())


def test_a_chilled_sample_warms_with_its_heat_over_what_the_joint_and_the_wind_let_pass():
    study = EGG.with_design(
        {
            **CALM,
            "sample.material": "6061-T6",
            "sample.joint.conductance": "2 W/(m2 K)",
            "sample.start_temperature": "-20 degC",
            "sample.pocket.film": "0 W/(m2 K)",
            "tip.base.thickness": "2 mm",
            "tip.base.fixing.thread": "M39x1",
            "tip.emissivity": 0.0,
            "flight.pad.wait": "1 h",
            "flight.pad.wind": "40 m/s",
        }
    )
    tip = build_tip(study.tables, folder=study.folder, resolution=DEFAULT_RESOLUTION)
    heating = conditions_of(study, tip).heatings["laminar"]
    middle = int(np.argmin(np.abs(heating.arc_length - 0.5 * sum(tip.cavity.pocket_arc))))
    film = float(np.interp(290.15, heating.wall, heating.film[0, middle]))
    air = heating.recovery[0, middle]
    [contact] = [pairs for pairs in tip.mesh.joints if pairs.name == "sample"]
    passed = 1.0 / (1.0 / 2.0 + 1.0 / film) * contact.area.sum() + _radiated_to_the_back(tip, mean=280.0)
    held = tip.cell_volume[tip.cells_of("slab")].sum() * float(tip.sample.heat_capacity_at(275.0))
    mean = check(study).metrics["sample.temperature_mean_lift_off"].expected
    share = (air - mean) / (air - 253.15)
    assert 0.2 < share < 0.6
    assert np.log(share) == pytest.approx(-3600.0 * passed / held, rel=0.015)


def test_a_thin_wall_in_the_sun_settles_where_film_and_radiation_take_the_sun_away(make_pad, column, solid):
    heating = make_pad(sun=0.9 * 800.0, wind=2.0)
    wall = column((np.linspace(0.0, 1e-3, 5), solid(20.0, heat_capacity=2e6)))
    side = [-1, -1]
    lit = Surface(
        nodes=wall.near,
        area=wall.area,
        time=heating.time,
        wall=heating.wall,
        film=heating.film[:, side],
        recovery=heating.recovery[:, side],
        emissivity=[0.8, 0.8],
        surroundings=heating.surroundings,
        absorbed=heating.absorbed[:, side],
    )
    history = march(wall.model, surface=lit, start=288.15, start_time=-7200.0, end_time=-1.0)

    def net(temperature):
        film = np.interp(temperature, heating.wall, heating.film[0, -1])
        radiated = 0.8 * STEFAN_BOLTZMANN * (temperature**4 - 288.15**4)
        return 0.9 * 800.0 * np.cos(np.radians(10.0)) / np.pi - radiated - film * (temperature - 288.15)

    expected = brentq(net, 288.15, 400.0)
    assert expected > 293.0
    assert history.temperature[-1] == pytest.approx(expected, abs=0.01)
    assert history.steps < 30


@pytest.fixture
def make_pad():
    """Return the maker of a cone's heating through a wait of two hours and a short flight; invented."""

    def make(*, sun, wind):
        flight = Flight(
            time=[-7200.0, 0.0, 2.0],
            altitude=[0.0, 0.0, 300.0],
            speed=[0.0, 0.0, 300.0],
            temperature=[288.15, 288.15, 286.2],
            pressure=[101325.0, 101325.0, 97773.0],
            density=[1.225, 1.225, 1.19],
            axial_acceleration=[9.8, 150.0, 150.0],
            phase=[Phase.PAD, Phase.BOOST, Phase.BOOST],
            events={"burnout": 2.0},
            kinks=(0.0,),
            attitude=Attitude.ACROSS,
            warnings=(),
        )
        s = 0.15 * np.linspace(0.0, 1.0, 40) ** 2
        joint = 0.003 * np.radians(80.0)
        angle = np.minimum(s, joint) / 0.003
        radius = 0.003 * np.sin(angle) + np.maximum(s - joint, 0.0) * np.sin(np.radians(10.0))
        return heat(
            flight, arc_length=s, radius=radius, slope=0.5 * np.pi - angle, tip_radius=0.003, state=EXPECTED,
            sun=sun, wind=wind,
        )  # fmt: skip

    return make
