import numpy as np
import pytest

from optitip.metrics.outside import (
    ballast_mass,
    exchanged,
    pressure_centre_shift,
    static_margin,
    wave_drag,
)

RADIUS = np.array([0.0, 0.01, 0.03])


def drag(mach, *, reference=0.03):
    found = wave_drag(np.full((1, 3), 0.2), mach=[mach], radius=RADIUS, reference_radius=reference)
    return float(found[0])


def test_there_is_no_wave_drag_to_mach_08_and_all_of_it_from_mach_1():
    assert drag(0.3) == drag(0.8) == 0.0
    assert drag(0.9) == pytest.approx(0.1)
    assert drag(1.0) == drag(3.0) == pytest.approx(0.2)


def test_the_drag_coefficient_follows_the_circle_it_is_referred_to():
    assert drag(2.0, reference=0.06) == pytest.approx(0.2 / 4.0)


def test_a_pressure_counts_with_the_ring_it_presses_on():
    pressure = np.array([[1.0, 1.0, 0.0]])  # the outer ring's mean is a half, on 8/9 of the circle
    found = wave_drag(pressure, mach=[2.0], radius=RADIUS, reference_radius=0.03)
    assert found[0] == pytest.approx((1.0 + 0.5 * 8.0) / 9.0)


def test_only_the_noses_share_of_the_normal_force_moves():
    assert pressure_centre_shift(0.012, normal_force_slope=12.0) == pytest.approx(0.002)
    assert pressure_centre_shift(0.012, normal_force_slope=2.0) == pytest.approx(0.012)


def test_of_a_vehicle_with_unknown_slope_a_shift_counts_only_where_it_harms():
    assert pressure_centre_shift(-0.01, normal_force_slope=None) == -0.01
    assert pressure_centre_shift(0.01, normal_force_slope=None) == 0.0


def test_a_part_exchanged_for_its_like_changes_nothing():
    mass, centre = exchanged(8.0, centre=1.1, removed=(0.3, 0.09), added=(0.3, 0.09))
    assert (mass, centre) == pytest.approx((8.0, 1.1), rel=1e-15)


def test_a_lighter_tip_moves_the_centre_of_mass_aft_as_two_weights_say():
    # by hand: the rest weighs 7.7 kg at (8 x 1.1 - 0.3 x 0.09)/7.7 = 1.1393506 m
    mass, centre = exchanged(8.0, centre=1.1, removed=(0.3, 0.09), added=(0.12, 0.08))
    assert mass == pytest.approx(7.82)
    assert centre == pytest.approx((7.7 * 1.1393506 + 0.12 * 0.08) / 7.82, rel=1e-7)
    assert centre > 1.1


def test_ballast_brings_the_centre_exactly_where_it_is_wanted():
    needed = ballast_mass(8.0, centre=1.12, wanted=1.1, station=0.15)
    assert (8.0 * 1.12 + needed * 0.15) / (8.0 + needed) == pytest.approx(1.1, rel=1e-14)


def test_no_ballast_is_needed_by_a_centre_that_is_fore_of_the_wanted_one():
    assert ballast_mass(8.0, centre=1.1, wanted=1.1, station=2.0) == 0.0
    assert ballast_mass(8.0, centre=1.0, wanted=1.1, station=0.1) == 0.0


@pytest.mark.parametrize("station", [1.1, 1.3])
def test_ballast_aft_of_the_wanted_centre_restores_nothing(station):
    assert ballast_mass(8.0, centre=1.12, wanted=1.1, station=station) is None


def test_the_static_margin_is_positive_with_the_pressure_aft_of_the_mass():
    assert static_margin(1.3, centre_of_mass=1.1, diameter=0.1) == pytest.approx(2.0)
    assert static_margin(1.0, centre_of_mass=1.1, diameter=0.1) == pytest.approx(-1.0)
