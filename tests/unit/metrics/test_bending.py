import numpy as np
import pytest

from optitip.metrics.bending import (
    CrossLoads,
    Sections,
    bending_margin,
    bending_stress,
    cross_loads,
    cross_shear_stress,
    gust_incidence,
    sections_of,
    slender_moment,
    slender_normal_force,
    stopping_force,
)

PRESSURE, INCIDENCE = np.array([5e4]), np.array([0.02])


def cut(axial, outline_axial, outline_radius, *, mass=0.5, centre=0.1):
    n = len(axial)
    return sections_of(
        axial,
        outline_axial=np.asarray(outline_axial, dtype=float),
        outline_radius=np.asarray(outline_radius, dtype=float),
        mass=np.full(n, mass),
        centre=np.full(n, centre),
    )


def load(sections, *, acceleration=0.0, point_force=0.0, incidence=INCIDENCE, **more):
    return cross_loads(
        sections,
        dynamic_pressure=PRESSURE,
        incidence=incidence,
        acceleration=np.array([acceleration]),
        point_force=np.array([point_force]),
        **more,
    )


def test_the_force_on_a_cone_acts_at_two_thirds_of_its_length():
    length, radius = 0.3, 0.05
    base = cut([length], [0.0, length], [0.0, radius])
    force = slender_normal_force(PRESSURE, incidence=INCIDENCE, area=base.area)[0, 0]
    moment = slender_moment(PRESSURE, incidence=INCIDENCE, volume=base.volume)[0, 0]
    assert force == pytest.approx(2 * 0.02 * 5e4 * np.pi * radius**2)
    assert length - moment / force == pytest.approx(2 / 3 * length)


def test_the_force_on_a_paraboloid_acts_at_half_its_length():
    z = np.linspace(0.0, 0.2, 2001)  # r^2 grows with z, so dN/dz is even
    base = cut([0.2], z, 0.04 * np.sqrt(z / 0.2))
    moment = slender_moment(PRESSURE, incidence=INCIDENCE, volume=base.volume)
    force = slender_normal_force(PRESSURE, incidence=INCIDENCE, area=base.area)
    assert (moment / force)[0, 0] == pytest.approx(0.1, rel=1e-6)


def test_a_cylinder_aft_of_a_cone_adds_arm_but_no_force():
    sections = cut([0.3, 0.5], [0.0, 0.3, 0.6], [0.0, 0.05, 0.05])
    loads = load(sections)
    assert loads.shear[0, 0] == pytest.approx(loads.shear[0, 1])
    assert loads.air[0, 1] - loads.air[0, 0] == pytest.approx(loads.shear[0, 0] * 0.2)


def test_a_section_between_two_points_is_cut_where_it_lies():
    one = cut([0.15], [0.0, 0.3], [0.0, 0.05])
    assert one.area[0] == pytest.approx(np.pi * 0.025**2)
    assert one.volume[0] == pytest.approx(np.pi * 0.025**2 * 0.15 / 3)


def test_a_section_ahead_of_a_force_does_not_feel_it():
    loads = load(
        cut([0.1, 0.3], [0.0, 0.3], [0.0, 0.05]), incidence=0 * INCIDENCE, point_force=40.0, point_axial=0.2
    )
    assert loads.moment[0].tolist() == pytest.approx([0.0, 4.0])
    assert loads.shear[0].tolist() == pytest.approx([0.0, 40.0])


def test_loads_of_any_sign_add_up():
    sections = cut([0.3], [0.0, 0.3], [0.0, 0.05])
    one = load(sections, acceleration=100.0, point_force=40.0).moment
    other = load(sections, acceleration=-100.0, point_force=-40.0, incidence=-INCIDENCE).moment
    assert one == pytest.approx(other)
    parts = [load(sections).moment, load(sections, acceleration=100.0, incidence=0 * INCIDENCE).moment]
    assert one[0, 0] == pytest.approx(sum(float(p[0, 0]) for p in parts) + 12.0)


def test_a_gust_is_steeper_the_slower_the_flight():
    angle = gust_incidence([0.0, 10.0, 600.0], gust=[-10.0, 10.0, 10.0])
    assert np.degrees(angle) == pytest.approx([90.0, 45.0, 0.95484], rel=1e-5)


def test_a_thin_tube_has_the_stress_of_m_over_pi_r_squared_t():
    thin = bending_stress(np.array([[10.0]]), outer=np.array([0.02005]), inner=np.array([0.01995]))
    assert float(thin[0, 0]) == pytest.approx(10.0 / (np.pi * 0.02**2 * 1e-4), rel=3e-3)


def test_shear_is_a_third_above_the_mean_in_a_bar_and_twice_it_in_a_thin_tube():
    shear, outer = np.array([[300.0]]), np.array([0.01])
    for inner, ratio in ((0.0, 4 / 3), (0.00999, 2.0)):
        area = np.pi * (0.01**2 - inner**2)
        stress = cross_shear_stress(shear, outer=outer, inner=np.array([inner]))
        assert float(stress[0, 0]) * area / 300.0 == pytest.approx(ratio, rel=1e-6)


def test_a_stop_within_half_the_distance_takes_twice_the_force():
    force = stopping_force(8.0, mass=3.0, distance=np.array([0.05, 0.025]))
    assert force.tolist() == pytest.approx([1920.0, 3840.0])


def margin(moment, *, shear=0.0, axial_force=0.0, strength=((240e6, 240e6),), factor=1.5):
    at = np.array([0.1, 0.2])
    loads = CrossLoads(
        shear=np.full((1, 2), shear), air=np.array([moment]), inertia=np.zeros((1, 2)), point=np.zeros((1, 2))
    )
    return bending_margin(
        loads,
        sections=Sections(axial=at, area=at, volume=at, mass=at, centre=at),
        outer=np.array([0.02, 0.02]),
        inner=np.array([0.018, 0.018]),
        axial_force=np.full((1, 2), axial_force),
        yield_strength=np.array(strength),
        parts=("plug", "band"),
        instants=("gust",),
        factor=factor,
    )


def test_the_section_of_most_stress_sets_the_margin():
    inertia = np.pi / 4 * (0.02**4 - 0.018**4)
    one = margin([100.0, 300.0])
    assert one.value == pytest.approx(240e6 / (1.5 * 300.0 * 0.02 / inertia) - 1)
    assert (one.name, one.part, one.axial, one.time) == ("margin.bending", "band", 0.2, "gust")
    assert "100 % by air" in one.said()


def test_a_softer_section_under_less_moment_can_set_the_margin():
    assert margin([100.0, 300.0], strength=((50e6, 240e6),)).part == "plug"


def test_force_along_the_axis_adds_to_the_outermost_fibre_whatever_its_sign():
    area = np.pi * (0.02**2 - 0.018**2)
    values = [margin([0.0, 300.0], axial_force=p).value for p in (20e3, -20e3)]
    bent = 300.0 * 0.02 / (np.pi / 4 * (0.02**4 - 0.018**4))
    assert values == pytest.approx([240e6 / (1.5 * (bent + 20e3 / area)) - 1] * 2)


def test_a_short_tip_can_be_ruled_by_shear():
    one = margin([0.0, 1.0], shear=5e3)
    thin = 4 / 3 * (0.02**2 + 0.02 * 0.018 + 0.018**2) / (0.02**2 + 0.018**2)
    area = np.pi * (0.02**2 - 0.018**2)
    assert one.value == pytest.approx(240e6 / (1.5 * np.sqrt(3) * thin * 5e3 / area) - 1)


def test_a_section_with_no_strength_left_has_minus_one():
    assert margin([0.0, 0.0], strength=((240e6, 0.0),)).value == -1.0
