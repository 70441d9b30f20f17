"""The pressure along the surface of every family, from rest to Mach 5."""

from itertools import product

import numpy as np
import pytest

from optitip.geometry.outline import family_outline
from optitip.heating.compressible import stagnation_pressure_coefficient
from optitip.heating.pressure import (
    flat_face_gradient_factor,
    gradient_factor,
    pressure_coefficient,
    side_flow,
)
from optitip.heating.stream import stations_of
from optitip.inputs.study_tables import OutlineFamily

MACH = np.concatenate([[0.3, 0.6, 0.9], np.arange(1.0, 2.0, 0.05), np.arange(2.0, 5.01, 0.25)])
EXPONENT = {OutlineFamily.POWER: 0.6, OutlineFamily.PARABOLA: 0.8}
TIP_RADII = {OutlineFamily.ELLIPSE: (0.009, 0.02), OutlineFamily.POWER: (0.003, 0.012)}
DIAMETER = 0.084


def nose(family, *, fineness, tip_radius, count=100):
    """Return stations on a whole nose, even on its sphere and growing aft."""
    outline = family_outline(
        family,
        diameter=DIAMETER,
        length=fineness * DIAMETER,
        tip_radius=tip_radius,
        exponent=EXPONENT.get(family),
    )
    side = outline.sphere_arc + (outline.total_arc - outline.sphere_arc) * np.linspace(0.0, 1.0, count) ** 1.7
    s = np.concatenate([np.linspace(0.0, outline.sphere_arc, 16)[:-1], side])
    _, radius, slope = outline.at(s)
    return stations_of(arc_length=s, radius=radius, slope=slope, tip_radius=tip_radius)


@pytest.mark.parametrize("family", OutlineFamily)
def test_the_pressure_falls_from_the_stagnation_point_to_the_base_and_stays_sane(family):
    # what it rises by is 0.2 % of the stagnation point's: the corner where Newton meets the tangent cone
    for fineness, tip_radius in product((3.0, 5.0), TIP_RADII.get(family, (0.0005, 0.008))):
        cp = pressure_coefficient(MACH, stations=nose(family, fineness=fineness, tip_radius=tip_radius))
        assert cp[:, 0] == pytest.approx(stagnation_pressure_coefficient(MACH), rel=1e-9)
        rise = cp - np.minimum.accumulate(cp, axis=1)
        assert rise.max() < 0.003
        assert (1.0 + 0.7 * MACH[:, None] ** 2 * cp).min() > 0.65


@pytest.mark.parametrize("mach", [0.5, 0.9, 1.05])
def test_a_side_too_slow_for_shock_expansion_has_its_own_cones_pressure(mach):
    stations = nose(OutlineFamily.TANGENT_OGIVE, fineness=5.0, tip_radius=0.003)
    aft = stations.arc_length >= stations.joint_arc
    found = pressure_coefficient([mach], stations=stations)[0, aft]
    cone = side_flow(np.array([[mach]]), stations.slope[aft]).pressure[0]
    assert found == pytest.approx(cone, abs=1e-12)


@pytest.mark.parametrize("mach", [1.1, 1.2, 1.34])
def test_a_side_partly_too_slow_for_it_is_right_on_few_stations(mach):
    # half a frustum's lag would be 1.5 to 2 % of the greatest pressure there
    few, many = (
        nose(OutlineFamily.VON_KARMAN, fineness=5.0, tip_radius=0.003, count=count) for count in (100, 1600)
    )
    found, fine = (pressure_coefficient([mach], stations=one)[0] for one in (few, many))
    aft = (few.arc_length > 2.0 * few.joint_arc) & (few.arc_length < 0.5 * few.arc_length[-1])
    fine = np.interp(few.arc_length, many.arc_length, fine)
    assert found[aft] == pytest.approx(fine[aft], abs=0.009 * fine[aft].max())


def test_a_face_as_flat_as_a_rim_allows_has_three_tenths_of_a_spheres_gradient():
    assert flat_face_gradient_factor([1.2, 3.0, 5.0]) == pytest.approx(0.3 * gradient_factor([1.2, 3.0, 5.0]))
