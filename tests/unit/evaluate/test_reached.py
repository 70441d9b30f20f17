from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from optitip.evaluate.building import build_tip
from optitip.evaluate.conditions import conditions_of
from optitip.evaluate.reached import reached
from optitip.evaluate.warming import heat_case, nose_sink, surface_of
from optitip.geometry.mesh import DEFAULT_RESOLUTION
from optitip.inputs.study import read_study
from optitip.solvers.march import march_together

EGG = read_study(Path(__file__).parents[3] / "studies" / "coastal-egg")


@pytest.fixture(scope="module")
def flown():
    study = EGG.with_design({})
    tip = build_tip(study.tables, folder=study.folder, resolution=DEFAULT_RESOLUTION)
    conditions = conditions_of(study, tip)
    wide = {name: _to_1500_kelvin(heating) for name, heating in conditions.heatings.items()}
    return tip, replace(conditions, heatings=wide)


def _to_1500_kelvin(heating):
    """Return the heating with more columns, as a table given by a flow solver has."""
    more = np.arange(heating.wall[-1] + 20.0, 1500.0, 20.0)
    film = np.concatenate([heating.film, np.repeat(heating.film[..., -1:], more.size, axis=2)], axis=2)
    return replace(heating, wall=np.concatenate([heating.wall, more]), film=film)


@pytest.fixture(scope="module")
def switching(flown):
    return flown[1].heatings["turbulent while heating"]


def test_columns_hotter_than_all_a_wall_can_meet_are_left_out(switching):
    walls, films = reached(switching, start=300.0)
    hottest = switching.recovery.max()
    assert np.sum(walls >= hottest) == 2
    assert walls.tolist() == switching.wall[: walls.size].tolist()
    assert films.tolist() == switching.film[..., : walls.size].tolist()
    assert walls.size < 0.5 * switching.wall.size


def test_a_hot_start_warm_surroundings_sun_and_its_coating_reach_farther(switching):
    def farthest(heating, **options):
        return reached(heating, **{"start": 300.0, **options})[0][-2]

    assert farthest(switching, start=900.0) >= 900.0
    assert farthest(replace(switching, surroundings=np.full(switching.time.size, 1100.0))) >= 1100.0
    lamp = replace(switching, absorbed=np.full(switching.recovery.shape, 2000.0))
    lit = switching.recovery.max() + 2000.0 / switching.film.min()
    assert farthest(lamp) >= min(lit, switching.wall[-2])
    assert farthest(replace(switching, absorbed=np.array([50.0])), resistance=10.0) >= 1000.0
    assert reached(switching, start=np.inf)[0].size == switching.wall.size


def test_a_lamp_on_a_wall_without_air_reaches_all_columns(switching):
    bare = replace(switching, film=np.zeros_like(switching.film), absorbed=np.array([2e4]))
    assert reached(bare, start=300.0)[0].size == switching.wall.size


def test_the_march_is_the_one_on_the_whole_table(flown):
    tip, conditions = flown
    heatings = [conditions.heatings[name] for name in ("laminar", "turbulent while heating")]
    case = heat_case(tip, conditions=conditions, heatings=heatings, models={})
    whole = replace(case, surfaces=tuple(surface_of(tip, heating) for heating in heatings))
    assert case.surfaces[1].wall.size < whole.surfaces[1].wall.size
    for some, all_of_it in zip(march_together(case), march_together(whole), strict=True):
        assert some.time == pytest.approx(all_of_it.time, rel=1e-9)
        assert some.temperature == pytest.approx(all_of_it.temperature, abs=1e-6)
        assert some.balance == pytest.approx(all_of_it.balance, abs=1e-9)


def test_what_lies_behind_counts_among_the_starts(flown):
    study = EGG.with_design({"tip.base.nose_temperature": "700 degC"})
    tip = build_tip(study.tables, folder=study.folder, resolution=DEFAULT_RESOLUTION)
    heating = flown[1].heatings["laminar"]
    assert nose_sink(tip, start=300.0).temperature == pytest.approx(973.15)
    case = heat_case(tip, conditions=flown[1], heatings=[heating], models={})
    assert case.surfaces[0].wall[-2] >= 973.15


@pytest.mark.parametrize(
    "key", ["tip.base.nose_temperature", "flow.surroundings", "flight.start_temperature"]
)
def test_a_flights_films_have_columns_for_what_is_warmer_than_its_air(key):
    thin = {"tip.base.thickness": "2 mm", "tip.base.fixing.thread": "M39x1"}  # the ring goes in by the thread
    study = EGG.with_design({key: "400 degC", "sample.material": "6061-T6", **thin})
    tip = build_tip(study.tables, folder=study.folder, resolution=DEFAULT_RESOLUTION)
    assert all(one.wall[-1] >= 673.15 for one in conditions_of(study, tip).heatings.values())
