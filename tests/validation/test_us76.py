"""The standard atmosphere against the US Standard Atmosphere 1976.

Source: NOAA-S/T 76-1562 (1976), geometric altitude; temperature, pressure, density and sound speed as
recomputed from its formulas. Tolerance: half a unit of the last printed digit.
Two independent codes from PyPI beside it, `fluids` and `ambiance`: 1e-5 relative, -500 m to 79 km.
"""

import numpy as np
import pytest
from ambiance import Atmosphere as Ambiance
from fluids import ATMOSPHERE_1976

from optitip.flight.atmosphere import gravity, site_atmosphere

# altitude [m]; temperature [K], pressure [Pa], density [kg/m3] and sound speed [m/s] with half a last digit
TABLE = [
    (0.0, (288.150, 5e-4), (101325.0, 0.5), (1.2250, 5e-5), (340.294, 5e-4)),
    (5_000.0, (255.676, 5e-4), (54048.3, 0.05), (0.736428, 5e-7), (320.546, 5e-4)),
    (10_000.0, (223.252, 5e-4), (26499.9, 0.05), (0.413510, 5e-7), (299.532, 5e-4)),
    (20_000.0, (216.650, 5e-4), (5529.31, 5e-3), (0.0889099, 5e-8), (295.070, 5e-4)),
    (30_000.0, (226.509, 5e-4), (1197.03, 5e-3), (0.0184102, 5e-8), (301.709, 5e-4)),
]


@pytest.mark.parametrize("row", TABLE, ids=[f"{row[0]:.0f} m" for row in TABLE])
def test_the_standard_air_is_the_published_one_to_its_printed_digits(row):
    altitude, *expected = row
    air = site_atmosphere().at(altitude)
    got = (air.temperature, air.pressure, air.density, air.sound_speed)
    for value, (published, half_digit) in zip(got, expected, strict=True):
        assert abs(float(value) - published) <= half_digit * (1.0 + 1e-6)


def test_the_standard_air_agrees_with_two_independent_codes():
    altitude = np.linspace(-500.0, 79_000.0, 160)
    air = site_atmosphere().at(altitude)
    first = [ATMOSPHERE_1976(z) for z in altitude]
    second = Ambiance(altitude)
    for name, attribute in (("temperature", "T"), ("pressure", "P"), ("density", "rho")):
        assert getattr(air, name) == pytest.approx([getattr(a, attribute) for a in first], rel=1e-5)
        assert getattr(air, name) == pytest.approx(getattr(second, name), rel=1e-5)


def test_gravity_falls_with_height_as_an_independent_code_has_it():
    for altitude in (0.0, 10_000.0, 50_000.0):
        assert gravity(altitude) == pytest.approx(float(Ambiance(altitude).grav_accel[0]), rel=1e-6)
