"""The sample's own weight, its pressing and how far it draws off the wall, against hand figures."""

from pathlib import Path

import numpy as np
import pytest

from optitip.evaluate.assess import assess
from optitip.inputs.study import read_study

EGG = read_study(Path(__file__).parents[3] / "studies" / "coastal-egg")
G0 = 9.80665


def margins(design, *, study=EGG):
    found = assess(study, design=design, searching=True)
    assert found.metrics, found.detail
    return {one.name: one for one in found.expected.margins}


def test_a_pressed_slab_stands_on_its_shoulder_with_all_its_length():
    one = margins({"strength.snatch": "100 g0"})["margin.shoulder"]
    assert one.time == "ejection"
    length = one.figures[0][0] / (1030.0 * 100.0 * G0)
    assert length == pytest.approx(0.054, rel=0.05)  # the pocket of a 60 mm band, along the axis
    assert one.value == pytest.approx(45e3 / (1.5 * one.figures[0][0]) - 1.0)


def test_a_bonded_slab_hangs_on_its_face_by_its_thickness_alone():
    one = margins({"strength.snatch": "100 g0", "sample.joint.kind": "bonded"})["margin.shoulder"]
    assert one.figures[0][0] == pytest.approx(2.0 * 1030.0 * 100.0 * G0 * 0.003, rel=0.01)


def test_spin_lays_the_slab_on_the_wall():
    one = margins({"strength.snatch": "0 m/s2", "strength.spin": "6000 rpm"})["margin.shoulder"]
    omega = 6000.0 / 60.0 * 2.0 * np.pi
    radius = one.figures[0][0] / (1030.0 * omega**2 * 0.003)
    assert radius == pytest.approx(0.0155, rel=0.05)


def test_the_studys_own_strength_comes_before_the_materials_range():
    own = margins({"sample.slab.strength": "12 kPa"})["margin.shoulder"]
    file = margins({"sample.slab": {"thickness": "3 mm"}})["margin.shoulder"]
    assert own.figures[1][0] == 12e3
    assert file.figures[1][0] == 8e3
    assert file.figures[2][0] == 20e3


def test_the_force_a_joint_needs_is_its_pressure_on_its_contact():
    found = assess(EGG, design={"sample.joint.build": "sprung"}, searching=True)
    area = (
        found.metrics["sample.energy_peak"].expected / found.metrics["sample.energy_peak_per_area"].expected
    )
    assert found.metrics["sample.pressing_force"].expected == pytest.approx(10e3 * area)
    bonded = assess(EGG, design={"sample.joint.build": "epoxy"}, searching=True)
    assert bonded.metrics["sample.pressing_force"].expected == 0.0


def test_a_given_force_is_judged_with_what_lifts_the_slab_across_the_axis():
    still = margins({"sample.joint.force": "20 N", "strength.lateral_acceleration": "0 m/s2"})
    shaken = margins({"sample.joint.force": "20 N", "strength.lateral_acceleration": "100 g0"})
    needed = [one["margin.pressing"].figures[1][0] for one in (still, shaken)]
    assert needed[0] == 2e3
    assert needed[1] == pytest.approx(2e3 + 1030.0 * 100.0 * G0 * 0.003, rel=0.01)


def test_a_ring_of_meat_draws_off_the_wall_as_it_cooks():
    hot = {
        "sample.material": "lean beef",
        "sample.slab.thickness": "1 mm",
        "sample.joint.conductance": "5000 W/(m2 K)",
    }
    cooked = margins(hot)["margin.contact"]
    raw = margins({**hot, "sample.material": "agar gel"})["margin.contact"]
    assert raw.figures[0][0] < 0.1e-3  # the wall's own growth
    assert cooked.figures[0][0] > 5.0 * raw.figures[0][0]
    followed = margins({**hot, "sample.joint.travel": "10 mm"})["margin.contact"]
    assert followed.figures[1][0] == 0.01


@pytest.mark.parametrize("joint", [{"kind": "captive"}, {"kind": "bonded"}, {"build": "epoxy"}])
def test_what_nothing_presses_has_no_margin_of_pressing_and_the_reason(joint):
    design = {f"sample.joint.{key}": value for key, value in joint.items()}
    found = assess(EGG, design=design, searching=True)
    assert "margin.contact" not in found.metrics
    assert found.missing["margin.contact"] == "nothing presses the sample"


def test_what_lies_behind_the_slab_is_pressed_and_spun_with_it():
    """PTFE of 2180 kg/m3, 2 mm thick: 2180 a t across the axis, and 2180 w^2 r t of spin."""
    behind = {"sample.backing": {"material": "PTFE", "thickness": "2 mm"}, "sample.joint.force": "20 N"}
    shaken = {"strength.lateral_acceleration": "100 g0", "strength.snatch": "0 m/s2"}
    one = margins({**behind, **shaken})["margin.pressing"]
    assert one.figures[1][0] == pytest.approx(2e3 + (1030.0 * 0.003 + 2180.0 * 0.002) * 100.0 * G0, rel=0.01)
    spun = margins({**behind, "strength.snatch": "0 m/s2", "strength.spin": "6000 rpm"})["margin.shoulder"]
    omega = 6000.0 / 60.0 * 2.0 * np.pi
    expected = (1030.0 * 0.003 + 2180.0 * 0.002) * omega**2 * 0.0155
    assert spun.figures[0][0] == pytest.approx(expected, rel=0.05)


def test_a_soft_slab_is_crushed_by_what_presses_it():
    calm = {"strength.snatch": "0 m/s2", "sample.slab.strength": "12 kPa", "sample.joint.build": "sprung"}
    assumed = margins(calm)["margin.shoulder"]
    weight = assumed.figures[0][0]
    assert weight > 15e3  # a thrust of 31 g on its shoulder is more than the 10 kPa of a spring
    pushed = margins({**calm, "sample.joint.force": "200 N"})["margin.shoulder"]
    assert pushed.detail.startswith("pressed on the wall")
    area = 10e3 / assess(EGG, design=calm, searching=True).metrics["sample.pressing_force"].expected
    assert pushed.figures[0][0] == pytest.approx(200.0 * area)


def test_a_strip_of_meat_slides_round_and_draws_its_thickness_off_the_wall():
    """A ring that shortens by e leaves e r, a strip e t: r is 16 mm, t 1 mm."""
    hot = {
        "sample.material": "lean beef",
        "sample.slab.thickness": "1 mm",
        "sample.joint.conductance": "5000 W/(m2 K)",
    }
    ring = margins(hot)["margin.contact"].figures[0][0]
    strip = margins({**hot, "sample.slab.share": 0.4})["margin.contact"].figures[0][0]
    wall = 0.05e-3
    assert strip - wall < 0.15 * (ring - wall)
