import numpy as np
import pytest

from optitip.errors import OutOfRange, UserMistakes
from optitip.flight.atmosphere import site_atmosphere


def test_a_site_has_its_own_temperature_and_pressure():
    air = site_atmosphere(1400.0, temperature=305.0, pressure=86_000.0).at(1400.0)
    assert float(air.temperature) == pytest.approx(305.0, abs=1e-9)
    assert float(air.pressure) == pytest.approx(86_000.0, rel=1e-12)


def test_a_site_without_readings_stands_in_the_standard_air():
    altitude = np.linspace(0.0, 30_000.0, 31)
    site, standard = site_atmosphere(1400.0).at(altitude), site_atmosphere().at(altitude)
    assert site.pressure == pytest.approx(standard.pressure, rel=1e-12)
    assert site.temperature == pytest.approx(standard.temperature, rel=1e-12)


def test_a_warm_day_is_warmer_by_the_same_at_all_heights():
    altitude = np.linspace(0.0, 60_000.0, 61)
    warm, standard = site_atmosphere(0.0, temperature=303.15).at(altitude), site_atmosphere().at(altitude)
    assert warm.temperature - standard.temperature == pytest.approx(15.0, abs=1e-9)


def test_warm_air_holds_more_pressure_aloft_and_less_density_at_the_ground():
    warm, standard = site_atmosphere(0.0, temperature=308.15), site_atmosphere()
    assert warm.at(10_000.0).pressure > standard.at(10_000.0).pressure
    assert warm.at(0.0).density < standard.at(0.0).density


def test_the_air_keeps_the_shape_of_the_altitudes():
    assert site_atmosphere().at(np.zeros((3, 2))).density.shape == (3, 2)
    assert site_atmosphere().at(0.0).density.shape == ()


@pytest.mark.parametrize("altitude", [-501.0, 80_001.0])
def test_air_outside_the_known_heights_is_out_of_range(altitude):
    with pytest.raises(OutOfRange, match="known from -500 m to 80 km"):
        site_atmosphere().at([0.0, altitude])


def test_a_pressure_reduced_to_sea_level_is_a_mistake_at_a_high_site():
    with pytest.raises(UserMistakes, match=r"flight\.site_pressure: 1013 hPa .* not the one reduced"):
        site_atmosphere(1400.0, pressure=101_325.0)


def test_both_wrong_readings_are_told_together():
    with pytest.raises(UserMistakes) as caught:
        site_atmosphere(0.0, temperature=20.0, pressure=1013.0)
    assert [m.place for m in caught.value.mistakes] == ["flight.site_temperature", "flight.site_pressure"]


def test_a_site_in_the_sky_is_a_mistake():
    with pytest.raises(UserMistakes, match=r"flight\.site_altitude"):
        site_atmosphere(9000.0)


def test_a_site_below_the_sea_is_out_of_range():
    with pytest.raises(OutOfRange, match=r"flight\.site_altitude: a site 40 m below sea level"):
        site_atmosphere(-40.0)


@pytest.mark.parametrize("temperature", [270.0, None, 305.0])
def test_a_pressure_gives_back_the_altitude_it_belongs_to(temperature):
    air, altitude = site_atmosphere(1400.0, temperature=temperature), np.linspace(-400.0, 79_000.0, 400)
    assert air.altitude_of(air.at(altitude).pressure) == pytest.approx(altitude, abs=1e-6)


def test_a_pressure_of_no_air_here_is_out_of_range():
    with pytest.raises(OutOfRange, match="no pressures of this site's air"):
        site_atmosphere().altitude_of([101_325.0, 0.1])
