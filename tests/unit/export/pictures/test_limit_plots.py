"""Which fields are drawn for what fails first: the right instant, flow state, field and place."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from optitip.evaluate.assess import check
from optitip.export.assessed import SHELL
from optitip.export.part_fields import section_of_state
from optitip.export.pictures import limit_plots
from optitip.inputs.study import read_study
from optitip.units import System

EGG = read_study(Path(__file__).parents[4] / "studies" / "coastal-egg")


@pytest.fixture(scope="module")
def answer():
    """Return the egg's answer, its strain near enough to what is allowed to be drawn where it is worst."""
    return check(EGG.with_design({"strength.strain_range": 0.002}))


@pytest.fixture
def drawn(answer, monkeypatch, tmp_path):
    """Return what is drawn by file name: section, strip, field."""
    found = {}

    def keep(section, strips, *, field, folder, name, **_):
        [strip] = strips
        found[name] = (section, strip, field)
        return folder / name

    monkeypatch.setattr(limit_plots, "plot_section", keep)

    def draw(assessment=answer):
        section = section_of_state(assessment.expected)
        list(
            limit_plots.picture_limits(
                assessment, section=section, shell=SHELL, folder=tmp_path, system=System.METRIC
            )
        )
        return found

    return draw


def test_heat_is_drawn_where_and_when_a_part_is_nearest_its_limit(answer, drawn):
    section, strip, field = drawn()["heat.png"]
    state, margin = answer.smallest_margin()
    assert margin.name == "margin.temperature"
    fields = answer.states[state].fields
    row = int(np.argmin(np.abs(fields.time - margin.seconds)))
    assert np.array_equal(strip.values, fields.temperature[row])
    assert strip.mark[1] == pytest.approx(margin.axial, abs=1e-3)
    assert state in strip.title
    assert field.unit == "K"
    assert len(section.cells) == len(fields.cells)


def test_stress_is_drawn_on_the_metal_alone_with_the_place_marked(answer, drawn):
    section, strip, field = drawn()["stress.png"]
    worst = min(
        (one for state in answer.states.values() for one in state.margins if one.name == "margin.strain"),
        key=lambda one: one.value,
    )
    assert field.unit == "Pa"
    assert len(section.cells) < len(answer.expected.fields.cells)
    assert set(section.parts) == set(SHELL)
    assert strip.mark[1] == pytest.approx(worst.axial, abs=1e-3)
    assert strip.values.max() > 5e6


def test_the_stress_of_the_loads_is_a_picture_of_its_own_with_the_bending_that_sets_its_margin(answer, drawn):
    strip = drawn()["loads.png"][1]
    told = [one for one in answer.expected.margins if one.name == "margin.yield"]
    assert told[0].time == "in the hand"
    assert strip.values.max() == pytest.approx(told[0].figures[0][0], rel=0.15)
    fields = answer.expected.fields
    r, z = fields.points.T
    # a hand's 100 N at the nose point: M = F z, sigma = 4 M/(pi r^3) of the solid plug half way along it
    outer = answer.expected.stations[0].axial
    place = outer[int(np.argmin(np.abs(outer - 0.024)))]
    node = int(np.argmax(np.where(np.abs(z - place) < 1e-9, r, 0.0)))
    hand = fields.stress.loads[fields.stress.names.index("in the hand"), node]
    assert hand == pytest.approx(4.0 * 100.0 * z[node] / (np.pi * r[node] ** 3), rel=0.03)


def test_of_margins_capped_alike_the_one_of_most_stress_is_drawn(answer, drawn):
    def capped(one):
        return replace(one, value=10.0) if one.name == "margin.strain" else one

    states = {
        name: replace(state, margins=tuple(capped(one) for one in state.margins))
        for name, state in answer.states.items()
    }
    strip = drawn(replace(answer, states=states))["stress.png"][1]
    assert "laminar" not in strip.title.split("flow ")[1].split(",")
    assert "over 10:" in strip.title
    assert strip.values.max() > 20e6


def test_the_air_of_the_pocket_is_drawn_with_no_place_marked(answer, drawn):
    def hot(state):
        air = next(one for one in state.margins if one.name == "margin.temperature")
        return (*state.margins, replace(air, name="margin.inside", value=-2.0, axial=None))

    states = {name: replace(state, margins=hot(state)) for name, state in answer.states.items()}
    strip = drawn(replace(answer, states=states))["heat.png"][1]
    assert strip.mark is None
    assert "-2.00" in strip.title


def test_an_answer_without_a_placed_margin_draws_nothing(answer, drawn):
    bare = {name: replace(state, margins=()) for name, state in answer.states.items()}
    assert drawn(replace(answer, states=bare)) == {}
