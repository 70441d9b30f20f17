"""Supersonic flow past cones, and the smallest Mach number of an attached shock.

Source: Taylor & Maccoll 1933, Proc. R. Soc. A 139, 278, recomputed at gamma 1.4 as in Sims 1964, NASA
SP-3004; the library gasdyn integrates the same equation by other means.
Tolerance: 1e-5 relative on pressure, Mach number and temperature, printed to twice that; 1e-4 from a shock
angle of four decimals; 6e-4 on the attachment Mach number, printed to three.
"""

import gasdyn
import numpy as np
import pytest

from optitip.heating.compressible import temperature_ratio
from optitip.heating.cone_flow import behind_shock, cone_table

# half angle deg, M, shock deg, cone M, pc/p1, Tc/T1
TABLE = [
    (5.0, 2.0, 30.0946, 1.94150, 1.09509, 1.02629),
    (10.0, 1.5, 42.6660, 1.37484, 1.19501, 1.05222),
    (10.0, 2.0, 31.2061, 1.83403, 1.29252, 1.07608),
    (10.0, 3.0, 21.7147, 2.71012, 1.55113, 1.13408),
    (15.0, 3.0, 25.2589, 2.50674, 2.09058, 1.24072),
    (20.0, 2.0, 37.7959, 1.56774, 1.91153, 1.20679),
]
# half angle deg, Mach number
ATTACHED = [(5.0, 1.013), (10.0, 1.053), (15.0, 1.119), (20.0, 1.211), (30.0, 1.480), (40.0, 1.953)]


@pytest.mark.parametrize("row", TABLE, ids=lambda row: f"{row[0]:g} degrees at Mach {row[1]:g}")
def test_the_table_holds_the_published_cones(row):
    angle, mach, _, cone_mach, pressure, temperature = row
    found_pressure, found_mach = cone_table().surface(mach, np.radians(angle))
    assert found_pressure == pytest.approx(pressure, rel=1e-5)
    assert found_mach == pytest.approx(cone_mach, rel=1e-5)
    found_temperature = temperature_ratio(found_mach) / temperature_ratio(mach)
    assert found_temperature == pytest.approx(temperature, rel=1e-5)


@pytest.mark.parametrize("row", TABLE, ids=lambda row: f"{row[0]:g} degrees at Mach {row[1]:g}")
def test_direct_integration_finds_the_cone_of_the_published_shock(row):
    angle, mach, shock, cone_mach, pressure, _ = row
    flow = behind_shock(mach, np.radians(shock))
    # a slender cone's angle goes with the fourth root of the shock's excess over the Mach angle
    assert np.degrees(flow.half_angle) == pytest.approx(angle, abs=1e-3)
    assert flow.pressure_ratio == pytest.approx(pressure, rel=1e-4)
    assert flow.mach == pytest.approx(cone_mach, rel=1e-4)


@pytest.mark.parametrize(("angle", "mach"), ATTACHED)
def test_the_shock_detaches_at_the_published_mach_number(angle, mach):
    assert cone_table().attachment_mach(np.radians(angle)) == pytest.approx(mach, abs=6e-4)


@pytest.mark.parametrize(("angle", "mach"), [(4.0, 4.5), (7.0, 1.2), (12.5, 2.7), (18.0, 3.5), (20.0, 2.4)])
def test_an_independent_integration_agrees(angle, mach):
    oracle = gasdyn.solve_taylor_maccoll(mach=mach, cone_angle=angle)
    pressure, cone_mach = cone_table().surface(mach, np.radians(angle))
    assert cone_mach == pytest.approx(oracle.mach_cone, rel=1e-5)
    assert pressure == pytest.approx(oracle.surface_pressure_ratio, rel=1e-5)
