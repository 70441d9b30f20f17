import numpy as np
import pytest

from optitip.metrics.bending import (
    bending_stress,
    cross_loads,
    gust_incidence,
    sections_of,
    slender_moment,
    slender_normal_force,
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


def test_the_mass_ahead_bends_by_its_distance_to_the_section():
    sections = cut([0.1, 0.3], [0.0, 0.3], [0.0, 0.05], mass=0.5, centre=0.1)
    loads = load(sections, acceleration=100.0, incidence=0 * INCIDENCE)
    assert loads.moment[0].tolist() == pytest.approx([0.0, 0.5 * 100.0 * 0.2])
    assert loads.shear[0].tolist() == pytest.approx([50.0, 50.0])


def test_a_gust_is_steeper_the_slower_the_flight():
    angle = gust_incidence([0.0, 10.0, 600.0], gust=[-10.0, 10.0, 10.0])
    assert np.degrees(angle) == pytest.approx([90.0, 45.0, 0.95484], rel=1e-5)


def test_a_thin_tube_has_the_stress_of_m_over_pi_r_squared_t():
    thin = bending_stress(np.array([[10.0]]), outer=np.array([0.02005]), inner=np.array([0.01995]))
    assert float(thin[0, 0]) == pytest.approx(10.0 / (np.pi * 0.02**2 * 1e-4), rel=3e-3)
