import numpy as np
import pytest

from optitip.metrics.fixing import (
    Fails,
    Strength,
    TieRod,
    clamp_force,
    equivalent_force,
    joint_margin,
    opening_force,
    rod_margins,
    rod_tension,
    screws_strength,
    stiffness,
    thread_strength,
)
from optitip.metrics.instants import Instant
from optitip.metrics.margins import CAP
from optitip.properties.threads import thread_of

ROD = TieRod(preload=2000.0, rod_stiffness=40e6, shell_stiffness=160e6)


def threaded(external=640e6, internal=240e6, *, length=0.006, **more):
    return thread_strength(
        thread_of("M6"),
        length=length,
        external_yield=np.atleast_1d(external),
        internal_yield=np.atleast_1d(internal),
        **more,
    )


def test_the_softer_side_of_a_thread_strips():
    assert threaded().weakest(0) == "the internal thread strips"
    assert threaded(external=50e6, internal=600e6, length=0.002).weakest(0) == "the external thread strips"


def test_a_long_thread_tears_the_screw_instead():
    strong = thread_strength(
        thread_of("M6"), length=0.02, external_yield=np.array([640e6]), internal_yield=np.array([240e6])
    )
    assert strong.weakest(0) == "the part with the external thread tears"
    assert strong.least[0] == pytest.approx(640e6 * 20.1e-6, rel=2e-3)  # ISO 898-1: 20.1 mm2


def test_each_instant_has_its_own_weaker_side():
    both = threaded(external=[640e6, 50e6], internal=[240e6, 600e6], length=0.002)
    assert both.weakest(0) == "the internal thread strips"
    assert both.weakest(1) == "the external thread strips"
    assert both.least.shape == (2,)


def test_a_bored_part_tears_by_the_ring_under_its_root():
    wide = thread_of("M30x1.5")
    one = thread_strength(
        wide,
        length=0.01,
        external_yield=np.array([240e6]),
        internal_yield=np.array([240e6]),
        bore=0.026,
        outside=0.032,
    )
    ring = np.pi / 4 * ((0.030 - 1.226869 * 0.0015) ** 2 - 0.026**2)
    assert one.force[2, 0] == pytest.approx(240e6 * ring)
    assert one.force[3, 0] == pytest.approx(240e6 * np.pi / 4 * (0.032**2 - 0.030**2))


def test_a_bore_wider_than_the_root_leaves_nothing():
    assert threaded(bore=0.0055).least[0] == 0.0


def screwed(**more):
    given = {
        "count": 4,
        "wall_thickness": 0.0015,
        "screw_yield": np.array([200e6]),
        "wall_yield": np.array([240e6]),
    }
    return screws_strength(thread_of("M3"), **(given | more))


def test_screws_shear_by_their_stress_area():
    assert screwed().weakest(0) == "the screws shear"
    assert screwed().least[0] == pytest.approx(4 * 0.577 * 200e6 * 5.03e-6, rel=1e-3)  # ISO 898-1: 5.03 mm2
    assert screwed(count=8).least[0] == pytest.approx(2 * screwed().least[0])


def test_a_thin_soft_wall_is_crushed_or_torn_instead():
    assert screwed(wall_thickness=0.0005).least[0] == pytest.approx(4 * 240e6 * 0.003 * 0.0005)
    near = screwed(edge=0.002)
    assert near.weakest(0) == "the wall tears from the screws to its edge"
    assert near.least[0] == pytest.approx(4 * 0.577 * 240e6 * 2 * 0.0015 * 0.0005)
    assert screwed(edge=0.001).least[0] == 0.0


def test_a_moment_loads_one_side_as_an_even_force_would_load_all():
    angle = np.linspace(0.0, 2.0 * np.pi, 3600, endpoint=False)
    line = 500.0 / (2 * np.pi * 0.02) + 10.0 * np.cos(angle) / (
        np.pi * 0.02**2
    )  # the balance of a thin ring:
    assert float(np.mean(line * 0.02 * np.cos(angle)) * 2 * np.pi * 0.02) == pytest.approx(10.0)
    assert float(equivalent_force(500.0, moment=-10.0, radius=0.02)) == pytest.approx(
        line.max() * 2 * np.pi * 0.02
    )


def test_a_shell_that_grows_tightens_the_rod_as_two_springs_do():
    # a rod of 2 and a shell of 3 N/m, the shell 1 m too long: 6/5 N, and both changes of length add up to 1 m
    force = float(clamp_force(TieRod(preload=0.0, rod_stiffness=2.0, shell_stiffness=3.0), growth=1.0))
    assert force / 2.0 + force / 3.0 == pytest.approx(1.0)
    assert float(clamp_force(ROD, growth=-1.0)) == 0.0


def test_the_joint_opens_where_the_shell_is_unloaded():
    opening = float(opening_force(ROD, clamp=2000.0))
    share = 160e6 / 200e6
    assert 2000.0 - opening * share == pytest.approx(0.0)
    assert float(rod_tension(ROD, clamp=2000.0, separating=opening)) == pytest.approx(opening)
    assert float(rod_tension(ROD, clamp=2000.0, separating=-1e4)) == 2000.0
    assert float(rod_tension(ROD, clamp=2000.0, separating=2.0 * opening)) == 2.0 * opening


def test_stiffness_falls_with_length():
    assert stiffness(np.array([200e9]), area=20e-6, length=0.1).tolist() == pytest.approx([40e6])
    assert stiffness(200e9, area=20e-6, length=0.2) == pytest.approx(20e6)


def judged(force, load, *, factor=1.5):
    return joint_margin(
        Strength(ways=("one", "other"), force=np.array(force, dtype=float)),
        about=Fails.THREAD,
        load=np.array(load, dtype=float),
        part="base",
        axial=0.2,
        instants=(Instant(time=2.0, names=("burnout",)), Instant(time=20.0, names=("snatch",))),
        factor=factor,
    )


def test_the_instant_of_most_use_sets_a_joints_margin():
    margin = judged([[400.0, 500.0], [300.0, 900.0]], [50.0, 100.0])
    assert margin.value == pytest.approx(500 / 150 - 1)
    assert (margin.name, margin.part, margin.axial, margin.time) == ("margin.thread", "base", 0.2, "snatch")
    assert margin.seconds == 20.0
    assert margin.said() == "one at 500 N, load 100 N, factor 1.5"


def test_what_pushes_together_needs_no_strength():
    assert judged([[400.0, 500.0], [300.0, 900.0]], [-50.0, -1e6]).value == CAP


def test_a_joint_with_no_strength_left_fails_without_a_load():
    assert judged([[400.0, 0.0], [300.0, 900.0]], [-50.0, -1.0]).value == -1.0


def rods(growth=0.0, separating=1000.0, **more):
    given = {"rod_yield": np.array([640e6]), "nut_yield": np.array([240e6]), "factor": 1.5, "engaged": 0.008}
    return rod_margins(
        ROD,
        thread=thread_of("M6"),
        growth=np.array([growth]),
        separating=np.array([separating]),
        axial=0.1,
        instants=(Instant(time=20.0, names=("snatch",)),),
        **(given | more),
    )


def test_a_rod_is_judged_for_opening_stripping_and_yield():
    shut, strips, yields = rods()
    assert [one.name for one in rods()] == ["margin.retention", "margin.thread", "margin.rod"]
    assert shut.value == pytest.approx(2500 / 1500 - 1)
    assert yields.value == pytest.approx(640e6 * thread_of("M6").tensile_area / (1.5 * 2200) - 1)
    area = thread_of("M6").internal_shear_area(0.008)
    assert strips.value == pytest.approx(0.577 * 240e6 * area / (1.5 * 2200) - 1)
    assert strips.said().startswith("the internal thread strips")


def test_a_rod_gone_slack_holds_nothing_even_unloaded():
    shut, _, yields = rods(growth=-100e-6, separating=-500.0)
    assert shut.value == -1.0
    assert yields.value == CAP


def test_a_shell_that_outgrows_its_rod_spends_the_rods_margin():
    values = [rods(growth=g)[2].value for g in (0.0, 50e-6, 100e-6)]
    assert values[0] > values[1] > values[2]
    assert rods(growth=100e-6)[0].value > rods()[0].value
