"""The cone table and the integration under it."""

import time

import numpy as np
import pytest

from optitip.errors import OutOfRange
from optitip.heating.cone_flow import behind_shock, cone_table


@pytest.mark.parametrize("mach", [1.1, 1.37, 1.9, 2.6, 3.3, 4.1, 4.97])
def test_the_table_agrees_with_direct_integration_within_1e_4(mach):
    table = cone_table()
    flow = behind_shock(mach, np.linspace(np.arcsin(1.0 / mach) + 1e-3, np.radians(85.0), 600))
    largest = table.largest_half_angle(mach)
    assert flow.half_angle.max() == pytest.approx(float(largest), abs=1e-5)
    # before the largest angle the shock is the weak one, which flight has
    weak = np.arange(600) < flow.half_angle.argmax()
    keep = weak & (flow.half_angle > np.radians(3.0)) & (flow.half_angle < 0.995 * largest)
    assert keep.sum() > 20
    pressure, cone_mach = table.surface(mach, flow.half_angle)
    assert np.abs(pressure / flow.pressure_ratio - 1.0)[keep].max() < 1e-4
    assert np.abs(cone_mach / flow.mach - 1.0)[keep].max() < 1e-4


def test_the_table_is_built_in_a_fraction_of_a_second():
    cone_table.cache_clear()
    start = time.process_time()
    cone_table()
    assert time.process_time() - start < 0.5


def test_a_needle_leaves_the_stream_as_it_is():
    mach = np.linspace(1.0, 5.0, 9)
    pressure, cone_mach = cone_table().surface(mach, 0.0)
    assert np.allclose(pressure, 1.0, rtol=1e-12)
    assert np.allclose(cone_mach, mach, rtol=1e-12)


def test_a_boat_tail_counts_as_a_cylinder():
    pressure, _ = cone_table().surface(2.0, -0.1)
    assert pressure == pytest.approx(1.0, rel=1e-12)


def test_pressure_rises_with_the_angle_up_to_detachment():
    angles = np.radians(np.linspace(0.0, 40.0, 200))
    pressure, cone_mach = cone_table().surface(2.0, angles)
    assert (np.diff(pressure) > 0.0).all()
    assert (np.diff(cone_mach) < 0.0).all()


def test_a_cone_too_blunt_for_mach_5_never_attaches():
    assert np.isinf(cone_table().attachment_mach(np.radians(56.0)))


def test_above_mach_5_the_table_refuses():
    with pytest.raises(OutOfRange, match=r"Mach 5\.10"):
        cone_table().surface(5.1, 0.1)
