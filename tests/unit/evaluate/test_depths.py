"""An insulating plug is judged by how deep it passed its limit; samples may start frozen."""

import shutil
from pathlib import Path

import numpy as np
import pytest

from optitip.evaluate.assess import assess
from optitip.inputs.study import read_study
from optitip.units import text

STUDIES = Path(__file__).parents[3] / "studies"
INSERT = {"tip.plug.material": "PTFE", "tip.plug.insert": "30 mm"}
HOT = """time [s],arc length [mm],film coefficient [W/(m2 K)],recovery temperature [degC]
0,0,20,21
0,150,20,21
0.5,0,400,1000
0.5,150,100,300
8,0,400,1000
8,150,100,300
9,0,30,20
9,150,30,20
12,0,30,20
12,150,30,20
"""


@pytest.fixture(scope="module")
def egg():
    return read_study(STUDIES / "coastal-egg")


@pytest.fixture(scope="module")
def rig(tmp_path_factory):
    folder = tmp_path_factory.mktemp("rig")
    (folder / "study.toml").write_text((STUDIES / "heated-rig/study.toml").read_text())
    (folder / "rig.csv").write_text(HOT)
    return read_study(folder)


@pytest.fixture(scope="module")
def charred(rig):
    return assess(rig, design={**INSERT, "tip.plug.material": "glass-phenolic"}, searching=False)


def test_an_insulating_plug_passes_its_limit_on_its_surface_and_no_margin_fails_by_it(egg):
    insulated = assess(egg, design=INSERT, searching=False)
    over, peak = (insulated.metrics[f"plug.{name}"] for name in ("depth_over_limit", "temperature_peak"))
    assert peak.low > 533.15
    assert 2e-5 < over.low <= over.expected <= over.high < 1e-3
    assert insulated.metrics["margin.temperature"].low > 0.0
    (said,) = [one for one in insulated.warnings if "passes its 260 degC" in one]
    assert f"down to {text(over.high, 'm', digits=3)} below the outline" in said
    assert "limits.'plug.depth_over_limit' does" in said


def test_a_limit_on_the_depth_is_judged_in_the_worst_state_and_then_no_note_is_needed(tmp_path):
    shutil.copytree(STUDIES / "coastal-egg", tmp_path / "study")
    text = (tmp_path / "study/study.toml").read_text()
    limited = text.replace('"margin.smallest" = ">= 0"', '"plug.depth_over_limit" = "<= 0.05 mm"')
    (tmp_path / "study/study.toml").write_text(limited)
    judged = assess(read_study(tmp_path / "study"), design=INSERT, searching=False)
    (limit,) = (one for one in judged.limits if one.limit.metric == "plug.depth_over_limit")
    assert not limit.held
    assert limit.worst == judged.metrics["plug.depth_over_limit"].high
    assert not any("passes its" in one for one in judged.warnings)


def test_a_metal_plug_is_judged_by_its_peak_and_has_no_depth(egg):
    metal = assess(egg, design={}, searching=True)
    assert metal.metrics["plug.depth_over_limit"].high == 0.0
    assert metal.metrics["plug.depth_decomposed"].high == 0.0


def test_a_plug_decomposes_less_deep_than_it_is_too_hot_and_that_it_recedes_is_told(charred):
    over, decomposed = (charred.metrics[f"plug.depth_{name}"].high for name in ("over_limit", "decomposed"))
    assert 0.1e-3 < decomposed < over
    assert charred.metrics["band.depth_decomposed"].high == 0.0
    assert any("decomposes down to" in one and "recession" in one for one in charred.warnings)
    assert not any("decomposes" in one for one in charred.warnings if "band" in one)


def test_decomposition_holds_the_surface_back(rig, charred):
    spared = assess(rig, design=INSERT, searching=False)
    assert spared.metrics["plug.depth_decomposed"].high == pytest.approx(0.0, abs=1e-4)
    assert charred.metrics["plug.temperature_peak"].high > 773.15


def test_a_frozen_sample_thaws_from_its_face_and_counts_the_heat_of_its_ice(egg):
    frozen = assess(egg, design={"sample.start_temperature": "-18 degC"}, searching=True)
    chilled = assess(egg, design={"sample.start_temperature": "2 degC"}, searching=True)
    gained = frozen.metrics["sample.energy_peak"].expected / chilled.metrics["sample.energy_peak"].expected
    assert 2.0 < gained < 4.0
    trace = frozen.expected.sample
    assert trace.coldest[0] == pytest.approx(255.15)
    assert trace.hottest.max() > 285.0
    # nowhere hotter than the same sample that had no ice to melt
    assert trace.hottest.max() < chilled.expected.sample.hottest.max()
    assert abs(frozen.metrics["balance.residual"].expected) < 1e-3


def test_a_frozen_sample_in_a_sealed_pocket_presses_with_the_vapour_of_ice_at_most(egg):
    design = {"sample.start_temperature": "-18 degC", "sample.pocket.air": "sealed"}
    sealed = assess(egg, design=design, searching=True)
    assert np.isfinite(sealed.metrics["margin.yield"].expected)


def test_a_sample_colder_than_its_ice_is_known_is_a_mistake(egg):
    deep = assess(egg, design={"sample.start_temperature": "-45 degC"}, searching=True)
    assert deep.place == "sample.start_temperature"
    assert "-45 degC is outside the table of egg-white" in deep.detail
