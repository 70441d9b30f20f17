"""What holds the base and the insert on, against hand balances of what pulls at them."""

from pathlib import Path

import numpy as np
import pytest

from optitip.errors import UserMistakes
from optitip.evaluate.assess import assess, check
from optitip.evaluate.building import build_tip
from optitip.evaluate.laps import laps_of
from optitip.geometry.mesh import DEFAULT_RESOLUTION
from optitip.inputs.study import read_study
from optitip.properties.materials import load_material
from optitip.properties.threads import thread_of

EGG = read_study(Path(__file__).parents[3] / "studies" / "coastal-egg")
QUIET = {"strength.hand_load": "0 N", "strength.gust": "0 m/s", "strength.lateral_acceleration": "0 m/s2"}


def margin(design, name):
    """Return a margin of the expected flow state of a design, or None."""
    found = assess(EGG, design=design, searching=True)
    assert found.metrics, found.detail
    return next((one for one in found.expected.margins if one.name == name), None)


def test_a_snatch_pulls_at_the_base_with_all_the_metal_ahead_of_its_joint():
    design = {**QUIET, "strength.snatch": "1000 g0", "sample.pocket.air": "open"}
    one = margin(design, "margin.thread")
    assert one.time == "ejection"
    found = assess(EGG, design=design, searching=True)
    # the shell less its base, a ring of the wall aft of the joint: 6061 throughout
    whole, pull = found.metrics["shell.mass"].expected, one.figures[1][0] / 9806.65
    assert 0.3 * whole < pull < 0.8 * whole
    heavier = margin({**design, "strength.snatch": "2000 g0"}, "margin.thread")
    assert heavier.figures[1][0] == pytest.approx(2.0 * one.figures[1][0], rel=1e-3)


def test_a_hand_on_the_nose_point_pulls_one_side_of_the_thread():
    one = margin({"strength.hand_load": "200 N", "strength.snatch": "0 m/s2"}, "margin.thread")
    assert one.time in {"in the hand", "end of soak"}
    # 2 M / r with M = F z: the joint lies at 121 mm, the thread's radius is 19.5 mm
    assert one.figures[1][0] == pytest.approx(2.0 * 200.0 * one.axial / 0.0195, rel=0.02)


def test_a_sealed_pocket_blows_at_the_base_with_its_pressure_over_the_cavity():
    quiet = {**QUIET, "strength.snatch": "0 m/s2"}
    sealed = margin({**quiet, "sample.pocket.air": "sealed"}, "margin.thread")
    found = assess(EGG, design={**quiet, "sample.pocket.air": "sealed"}, searching=True)
    over = found.expected.metrics["pocket.overpressure_peak"]
    radius = 16.25e-3  # of the cavity at the joint
    assert sealed.figures[1][0] == pytest.approx(over * np.pi * radius**2, rel=0.1)


def test_a_part_without_a_fixing_has_no_such_margin_and_the_reason():
    bare = EGG.with_design({"tip.base": {"thickness": "5 mm", "separate": True}})
    found = check(bare)
    assert "margin.thread" not in found.metrics
    assert "tip.base.fixing" in found.missing["margin.thread"]
    assert any("tip.base.fixing" in one for one in found.uncovered)


def test_heat_pulls_a_cold_tie_rod_by_the_shells_growth():
    """As a bolt in series with the shell: F0 + growth / (1/k_rod + 1/k_shell), the rod still cold."""
    rod = {"tip.base.fixing": {"rod": "M6", "preload": "1 kN", "engagement": "20 mm"}}
    one = margin(rod, "margin.rod")
    found = assess(EGG, design=rod, searching=True)
    length = 0.150 - 0.048
    steel = load_material("304").elastic
    stiff = float(steel.modulus_at(293.15)) * 20.12e-6 / length
    free = 1e3 + stiff * 23e-6 * 130.0 * length  # as if the shell were rigid and 130 K warmer all along
    assert 1e3 < one.figures[1][0] < free
    assert "hottest metal" in one.time or "steepest" in one.time
    less = margin({"tip.base.fixing": {**rod["tip.base.fixing"], "preload": "0.5 kN"}}, "margin.rod")
    assert one.figures[1][0] - less.figures[1][0] == pytest.approx(500.0)
    assert found.metrics["margin.retention"].low > -1.0


def test_a_tie_rod_of_the_shells_own_metal_is_pulled_as_long_as_it_is_cold_and_holds_when_it_is_warm():
    """Were it as warm as the shell it would grow with it: then its pull would stay near the preload."""
    rod = {"tip.base.fixing": {"rod": "M6", "preload": "1 kN", "engagement": "20 mm", "material": "6061-T6"}}
    pull = margin(rod, "margin.rod").figures[1][0]
    clamp = margin(rod, "margin.retention").figures[0][0]
    assert pull > 2.5e3
    assert clamp < 1.1e3


def test_the_inserts_stud_has_its_shoulder_as_lever():
    insert = {
        "tip.plug.insert": "20 mm",
        "tip.plug.material": "304",
        "tip.plug.fixing.thread": "M6",
        "strength.hand_load": "100 N",
        "strength.snatch": "0 m/s2",
    }
    found = assess(EGG, design=insert, searching=True)
    [stud] = [one for one in found.expected.margins if one.name == "margin.thread" and "plug" in one.part]
    radius = 6.4e-3
    assert stud.figures[1][0] == pytest.approx(100.0 * 0.020 / radius, rel=0.1)


@pytest.mark.parametrize(
    ("design", "place"),
    [
        ({"tip.base.fixing": {"thread": "M36x20"}}, "tip.base.fixing.thread"),
        ({"tip.base.fixing": {"screw": "3 mm"}}, "tip.base.fixing.screw"),
        ({"tip.base.fixing": {"rod": "M5", "material": "still air"}}, "tip.base.fixing.material"),
        ({"tip.base.fixing": {"rod": "M5", "material": "balsa"}}, "tip.base.fixing.material"),
    ],
)
def test_a_fixing_that_cant_be_is_a_mistake_at_its_key(design, place):
    with pytest.raises(UserMistakes) as raised:
        check(EGG.with_design(design))
    assert [one.place for one in raised.value.mistakes] == [place]


def test_a_snatch_makes_the_sample_pull_at_the_base_too():
    """Two slabs of one outer side: what one weighs more pulls as much more, m a."""
    design = {**QUIET, "strength.snatch": "1000 g0", "sample.pocket.air": "open"}
    pull, mass = [], []
    for thickness in ("2 mm", "4 mm"):
        found = assess(EGG, design={**design, "sample.slab.thickness": thickness}, searching=True)
        [one] = [one for one in found.expected.margins if one.name == "margin.thread"]
        assert one.time == "ejection"
        pull.append(one.figures[1][0])
        energy = found.metrics["sample.energy_peak"].expected
        mass.append(energy / found.metrics["sample.energy_peak_per_mass"].expected)
    assert mass[1] - mass[0] > 5e-3
    assert pull[1] - pull[0] == pytest.approx(9806.65 * (mass[1] - mass[0]), rel=1e-3)


def test_a_clamped_ring_opens_when_the_push_leaves_its_kern():
    """Free of stress on its most pulled side: F/A = M r_o/I, with a ring's own A and I."""
    rod = {"tip.base.fixing": {"rod": "M6", "preload": "4 kN", "engagement": "20 mm"}}
    one = margin({**rod, "strength.hand_load": "300 N", "strength.snatch": "0 m/s2"}, "margin.retention")
    assert one.time == "end of soak"
    outer, inner = 20.6e-3, 16.3e-3  # at 121 mm
    moment = 300.0 * one.axial
    area, inertia = np.pi * (outer**2 - inner**2), 0.25 * np.pi * (outer**4 - inner**4)
    assert one.figures[1][0] == pytest.approx(area * moment * outer / inertia, rel=0.02)


def test_a_rods_thread_is_as_weak_as_the_hotter_of_plug_and_base():
    """A short plug under a turbulent skin gets hotter than the base ever does, and 6061 weaker with it."""
    rod = {"rod": "M6", "preload": "1 kN", "engagement": "3 mm", "material": "7075-T6"}
    design = {"tip.plug.length": "30 mm", "tip.base.thickness": "8 mm", "tip.base.fixing": rod}
    found = assess(EGG, design=design, searching=True)
    state = found.states["turbulent while heating"]
    [one] = [one for one in state.margins if one.name == "margin.thread"]
    assert "internal thread strips" in one.said()
    strength = one.figures[0][0] / (0.577 * 36.8e-6)  # M6, 3 mm: half of 73.6 mm2 of the nut's thread
    metal = load_material("6061-T6").elastic
    assert state.metrics["base.temperature_peak"] < 273.15 + 85.0
    assert strength < float(metal.yield_at(273.15 + 95.0))


def test_a_press_fit_too_tight_for_its_ring_is_not_let_by():
    """0.5 mm of 20.5 in radius is 2.4 % of hoop strain, shared by both parts: more than the 1 % allowed."""
    tight, snug = (margin({"tip.base.fit": fit}, "margin.strain") for fit in ("0.5 mm", "0.02 mm"))
    assert -0.7 < tight.value < -0.1
    assert tight.time.startswith("parts apart")
    assert tight.axial == pytest.approx(0.121, abs=4e-3)
    assert snug.value > 2.0


def built(study, design):
    tables = study.with_design(design).tables
    return build_tip(tables, folder=study.folder, resolution=DEFAULT_RESOLUTION)


def test_the_fore_part_carries_the_external_thread():
    """A base of 7075 is twice as strong: what strips is the shell's own 6061, at the crests' roots."""
    design = {
        **QUIET,
        "strength.snatch": "2000 g0",
        "tip.base.material": "7075-T6",
        "tip.base.fixing": {"thread": "M39x1.5", "engagement": "0.3 mm"},
    }
    one = margin(design, "margin.thread")
    assert "the external thread strips" in one.said()
    strips = 0.577 * thread_of("M39x1.5").external_shear_area(0.3e-3)
    cold, warm = (float(load_material("6061-T6").elastic.yield_at(T)) for T in (291.0, 420.0))
    assert warm < one.figures[0][0] / strips <= cold
    # the other way about the internal one would be the shell's; with a weak base it is the base's that gives
    weak = margin({**design, "tip.material": "7075-T6", "tip.base.material": "6061-T6"}, "margin.thread")
    assert "the internal thread strips" in weak.said()


def test_a_thread_tears_by_the_ring_between_its_root_and_the_spigots_own_bore():
    """M39x1.5: pi/4 (37.16^2 - 35.56^2) mm2 of 6061; the bore at the spigot's end, not at the joint."""
    design = {**QUIET, "tip.base.fixing": {"thread": "M39x1.5", "engagement": "6 mm"}}
    one = margin({**design, "strength.snatch": "2000 g0"}, "margin.thread")
    assert "the part with the external thread tears" in one.said()
    [lap] = laps_of(built(EGG, design))
    area = 0.25 * np.pi * ((39.0e-3 - 1.226869 * 1.5e-3) ** 2 - (2.0 * lap.inner) ** 2)
    stress = one.figures[0][0] / area
    cold, warm = (float(load_material("6061-T6").elastic.yield_at(T)) for T in (291.0, 420.0))
    assert warm < stress <= cold
    assert lap.inner > 17.5e-3


@pytest.mark.parametrize(
    "base", [{"thickness": "6 mm"}, {"solid": True}], ids=["a hollow base", "a solid base"]
)
def test_screws_bear_on_the_thinner_of_spigot_and_skirt(base):
    """n S d t of the thinner wall of the lap: half a wall, hollow or solid, less where the bore opens."""
    fixing = {"screw": "M5", "screws": 3, "material": "Ti-6Al-4V", "engagement": "12 mm"}
    design = {**QUIET, "strength.snatch": "2000 g0", "tip.base": {**base, "separate": True, "fixing": fixing}}
    one = margin(design, "margin.retention")
    assert "the wall is crushed" in one.said()
    [lap] = laps_of(built(EGG, design))
    thinner = min(lap.spigot_wall, lap.skirt_wall)
    stress = one.figures[0][0] / (3.0 * 5e-3 * thinner)
    cold, warm = (float(load_material("6061-T6").elastic.yield_at(T)) for T in (291.0, 420.0))
    assert warm < stress <= cold
