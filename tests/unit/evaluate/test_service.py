"""The heat of parts, of things inside and of tempers, and the growth of a warm base."""

from pathlib import Path

import numpy as np
import pytest

from optitip.evaluate.assess import assess
from optitip.inputs.study import read_study

EGG = read_study(Path(__file__).parents[3] / "studies" / "coastal-egg")


def margins(design):
    found = assess(EGG, design=design, searching=True)
    assert found.metrics, found.detail
    return found, {one.name: one for one in found.expected.margins}


@pytest.mark.parametrize("place", ["plug", "band", "base", "sample", "pocket"])
def test_a_thing_inside_is_as_warm_as_the_side_it_sits_on(place):
    found, by_name = margins({"strength.inside": [{"name": "glue", "place": place, "limit": "200 degC"}]})
    one = by_name["margin.inside"]
    peak = one.figures[0][0]
    assert one.part == "glue"
    assert one.value == pytest.approx((473.15 - peak) / (473.15 - 291.15))
    if place in {"plug", "band", "base"}:  # its own hottest point is on the outside
        assert 292.0 < peak <= found.expected.metrics[f"{place}.temperature_peak"] + 1e-6
    else:
        assert 292.0 < peak < found.expected.metrics["band.temperature_peak"]


def test_of_several_things_inside_the_one_nearest_to_its_limit_counts():
    things = [
        {"name": "glue", "place": "base", "limit": "90 degC"},
        {"name": "solder", "place": "band", "limit": "183 degC"},
    ]
    _, by_name = margins({"strength.inside": things})
    assert by_name["margin.inside"].part == "glue"


def test_a_warm_base_grows_by_its_coefficient_and_its_radius():
    found, by_name = margins({"strength.coupler_clearance": "0.1 mm"})
    one, fields = by_name["margin.coupler"], found.expected.fields
    end = np.flatnonzero(fields.points[:, 1] > 0.15 - 1e-9)
    warm = fields.temperature[:, end].mean(axis=1).max()
    # 6061: dl/l = 0.1e-7 T^2 + 22.5e-6 T from 20 degC, both ends of the rise taken from there
    strain = [(22.9e-6 + 1e-8 * (T - 293.15)) * (T - 293.15) for T in (warm, 291.15)]
    growth = fields.points[end, 0].max() * (strain[0] - strain[1])
    assert one.figures[0][0] == pytest.approx(growth, rel=5e-3)
    assert one.value == pytest.approx(0.1e-3 / one.figures[0][0] - 1.0)


def test_a_temper_is_used_up_flight_by_flight():
    _, few = margins({"tip.material": "7075-T6", "strength.flights": 1000})
    _, many = margins({"tip.material": "7075-T6", "strength.flights": 4000})
    assert few["margin.exposure"].value + 1.0 == pytest.approx(4.0 * (many["margin.exposure"].value + 1.0))


def test_steel_has_no_temper_to_lose_and_the_reason_is_told():
    found, by_name = margins({"tip.material": "304"})
    assert "margin.exposure" not in by_name
    assert found.missing["margin.exposure"] == "no metal here loses its temper in the heat"
