import numpy as np
import pytest

from optitip.metrics.buckling import (
    KNOCKDOWN_STEEP,
    KNOCKDOWN_STEEP_BENT,
    BandShape,
    axial_knockdown,
    bending_knockdown,
    buckling_use,
    critical_axial_force,
    critical_moment,
    critical_pressure,
)


def band(*, fore=0.027, aft=0.027, length=0.06, thickness=1e-3):
    return BandShape(fore_radius=fore, aft_radius=aft, axial_length=length, thickness=thickness, axial=0.1)


def test_a_millimetre_wall_buckles_elastically_far_above_yield():
    force = critical_axial_force(68.9e9, poisson=0.33, band=band())
    assert float(force) / (2 * np.pi * 0.027 * 1e-3) == pytest.approx(1171e6, rel=1e-3)


def test_a_steep_cone_has_the_factor_of_cones():
    steep = band(fore=0.02, aft=0.02 + 0.06 * np.tan(np.radians(15.0)))
    force = critical_axial_force(70e9, poisson=0.3, band=steep)
    theory = 2 * np.pi * 70e9 * 1e-6 * np.cos(np.radians(15.0)) ** 2 / np.sqrt(3 * (1 - 0.09))
    assert float(force) == pytest.approx(KNOCKDOWN_STEEP * theory)


def test_a_slim_cone_has_the_factor_of_its_aft_end():
    slim = band(fore=0.024, aft=0.027)
    cosine = np.cos(slim.half_angle)
    theory = 2 * np.pi * 70e9 * 1e-6 * cosine**2 / np.sqrt(3 * (1 - 0.09))
    factor = axial_knockdown(27.0 / cosine)
    assert float(critical_axial_force(70e9, poisson=0.3, band=slim)) == pytest.approx(factor * theory)


def test_the_critical_pressure_grows_with_thickness_to_the_power_two_and_a_half():
    ratio = critical_pressure(70e9, band=band(thickness=2e-3)) / critical_pressure(70e9, band=band())
    assert float(ratio) == pytest.approx(2**2.5)


def test_a_thin_band_under_pressure_uses_its_buckling_pressure_and_a_thick_one_its_yield():
    def use(thickness):
        shape = band(thickness=thickness)
        return shape, buckling_use(
            np.array([70e9]),
            poisson=0.33,
            yield_strength=np.array([240e6]),
            band=shape,
            pressure=np.array([1e5]),
            axial_force=np.array([-500.0]),
        )

    thin, used = use(0.3e-3)
    assert used[0] == pytest.approx(1e5 / float(critical_pressure(70e9, band=thin)))
    _, used = use(3e-3)
    assert used[0] == pytest.approx(1e5 / (240e6 * 3e-3 / 0.027))


def test_pressure_and_force_add_up():
    loads = {
        "modulus": np.full(3, 70e9),
        "poisson": 0.33,
        "yield_strength": np.full(3, 240e6),
        "band": band(),
    }
    pressure, force = np.array([1e5, 0.0, 1e5]), np.array([0.0, 3e3, 3e3])
    used = buckling_use(loads.pop("modulus"), pressure=pressure, axial_force=force, **loads)
    assert used[2] == pytest.approx(used[0] + used[1])
    assert used.min() > 0.0


def test_a_wall_with_no_strength_left_is_used_up_by_any_load_and_not_by_none():
    modulus, strength = np.zeros(2), np.zeros(2)
    loads = {"pressure": np.array([1e3, 0.0]), "axial_force": np.array([0.0, -5.0])}
    used = buckling_use(modulus, poisson=0.33, yield_strength=strength, band=band(), **loads)
    assert used.tolist() == [np.inf, 0.0]


def test_a_bent_wall_buckles_at_the_stress_of_a_pushed_one_with_the_factor_of_bending():
    for shape in (
        band(),
        band(fore=0.024, aft=0.027),
        band(fore=0.02, aft=0.02 + 0.06 * np.tan(np.radians(15.0))),
    ):
        narrow, cosine = shape.fore_radius, np.cos(shape.half_angle)
        pushed = float(critical_axial_force(70e9, poisson=0.3, band=shape)) / (2 * np.pi * narrow * cosine)
        bent = float(critical_moment(70e9, poisson=0.3, band=shape)) / (np.pi * narrow**2 * cosine)
        ratio = shape.aft_radius / cosine / 1e-3
        steep = shape.half_angle > np.radians(10.0)
        factors = (
            (KNOCKDOWN_STEEP_BENT, KNOCKDOWN_STEEP)
            if steep
            else (bending_knockdown(ratio), axial_knockdown(ratio))
        )
        assert bent / pushed == pytest.approx(float(factors[0] / factors[1]))


def test_a_moment_of_either_sign_adds_its_share_and_is_capped_by_yield():
    def use(moment, *, thickness=3e-3):
        return buckling_use(
            np.full(3, 70e9),
            poisson=0.33,
            yield_strength=np.full(3, 240e6),
            band=band(thickness=thickness),
            pressure=np.full(3, 1e5),
            axial_force=np.zeros(3),
            moment=np.stack([moment, moment], axis=-1),
        )

    none, pushed, pulled = use(np.array([0.0, 500.0, -500.0]))
    assert pushed == pulled
    assert pushed - none == pytest.approx(500.0 / (240e6 * np.pi * 0.027**2 * 3e-3))
    thin = use(np.array([0.0, 5.0, 5.0]), thickness=0.1e-3)
    limit = float(critical_moment(70e9, poisson=0.33, band=band(thickness=0.1e-3)))
    assert limit < 240e6 * np.pi * 0.027**2 * 0.1e-3
    assert thin[1] - thin[0] == pytest.approx(5.0 / limit)


def test_no_moment_and_none_given_are_the_same():
    loads = {"poisson": 0.33, "yield_strength": np.array([240e6]), "band": band()}
    loads |= {"pressure": np.array([1e5]), "axial_force": np.array([3e3])}
    without = buckling_use(np.array([70e9]), **loads)
    assert buckling_use(np.array([70e9]), moment=np.zeros((1, 2)), **loads) == without


def test_each_end_of_a_cone_is_bent_by_its_own_moment_against_its_own_radius():
    """Fibre stress M/(pi r^2 t): thin walls buckle at one that falls as 1/r, thick ones yield."""

    def bent(fore, aft, *, thickness):
        return float(
            buckling_use(
                np.array([70e9]),
                poisson=0.33,
                yield_strength=np.array([240e6]),
                band=cone(thickness),
                pressure=np.zeros(1),
                axial_force=np.zeros(1),
                moment=np.array([[fore, aft]]),
            )[0]
        )

    def cone(thickness):
        return BandShape(
            fore_radius=0.02, aft_radius=0.025, axial_length=0.06, thickness=thickness, axial=0.1
        )

    cosine = np.cos(np.arctan2(0.005, 0.06))
    thick = 3e-3
    for end, radius in enumerate((0.02, 0.025)):
        only = [0.0, 0.0]
        only[end] = 100.0
        stress = 100.0 / (np.pi * radius**2 * thick * cosine)
        assert bent(*only, thickness=thick) == pytest.approx(stress / 240e6)
        limit = float(critical_moment(70e9, poisson=0.33, band=cone(0.05e-3))) * radius / 0.02
        only[end] = 0.1
        assert bent(*only, thickness=0.05e-3) == pytest.approx(0.1 / limit)
    assert bent(100.0, 130.0, thickness=thick) == bent(100.0, 0.0, thickness=thick)
    assert bent(0.1, 0.13, thickness=0.05e-3) == bent(0.0, 0.13, thickness=0.05e-3)
