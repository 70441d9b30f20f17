"""Film coefficients on a flat plate and a 10 degree cone in flight, laminar and turbulent.

Source: Eckert 1955, J. Aero. Sci. 22, 585 (reference temperature) with Mangler's sqrt(3) and the momentum
integral's (9/4)^0.2 on the cone, worked by hand with constant cp at x = 0.3 m: Mach 3 at 10 km and Mach 2 at
5 km of the US Standard Atmosphere 1976; cones of 15 and 20 degrees on their published edge (Sims 1964).
Tolerance: 0.1 % on films (the worked figures have three to four digits), 0.1 K on recovery temperatures.
"""

import numpy as np
import pytest

from optitip.heating.edge import edge_state
from optitip.heating.film import laminar_plate_film, recovery_enthalpy, turbulent_plate_film
from optitip.heating.stream import stations_of, stream_of
from optitip.properties.air import AIR, CALORIC_AIR

AT_10_KM = {"temperature": [223.252], "pressure": [26499.9]}
AT_5_KM = {"temperature": [255.676], "pressure": [54048.3]}


def films_at_300_mm(mach, *, air, half_angle, wall, gas=CALORIC_AIR):
    """Return laminar and turbulent film, their recovery temperatures and the edge, from a sharp tip."""
    s = np.linspace(0.0, 0.3, 101)
    radius = s * np.sin(half_angle) if half_angle else np.ones_like(s)
    stations = stations_of(arc_length=s, radius=radius, slope=np.full(s.size, half_angle), tip_radius=1e-9)
    stream = stream_of(speed=mach * CALORIC_AIR.sound_speed(air["temperature"]), **air, gas=gas)
    edge = edge_state(stream, stations=stations, gas=gas)
    shared = {"edge": edge, "stations": stations, "wall": [wall], "gas": gas}
    recovery = [
        float(gas.temperature(recovery_enthalpy(stream, edge=edge, factor=0.71**power))[0, -1])
        for power in (1.0 / 2.0, 1.0 / 3.0)
    ]
    laminar = float(laminar_plate_film(stream, **shared)[0, -1, 0])
    turbulent = float(turbulent_plate_film(stream, **shared)[0, -1, 0])
    return laminar, turbulent, *recovery, edge


def test_the_plate_at_mach_3_and_10_km():
    laminar, turbulent, cool, warm, _ = films_at_300_mm(3.0, air=AT_10_KM, half_angle=0.0, wall=300.0)
    assert laminar == pytest.approx(53.92, rel=1e-3)
    assert turbulent == pytest.approx(444.7, rel=1e-3)
    assert cool == pytest.approx(561.86, abs=0.1)
    assert warm == pytest.approx(581.75, abs=0.1)


def test_the_cone_at_mach_3_and_10_km():
    laminar, turbulent, cool, warm, edge = films_at_300_mm(
        3.0, air=AT_10_KM, half_angle=np.radians(10.0), wall=300.0
    )
    assert edge.mach[0, -1] == pytest.approx(2.7101, rel=1e-4)
    assert edge.temperature[0, -1] == pytest.approx(253.19, abs=0.05)
    assert edge.pressure[0, -1] == pytest.approx(41104.9, rel=1e-4)
    assert laminar == pytest.approx(113.69, rel=1e-3)
    assert laminar * (cool - 300.0) == pytest.approx(30.3e3, rel=1e-3)
    assert turbulent == pytest.approx(708.0, rel=1e-3)
    assert turbulent * (warm - 300.0) == pytest.approx(201.8e3, rel=1e-3)


def test_the_turbulent_film_falls_as_the_wall_heats():
    turbulent = films_at_300_mm(3.0, air=AT_10_KM, half_angle=np.radians(10.0), wall=500.0)[1]
    assert turbulent == pytest.approx(600.2, rel=1e-3)


def test_the_cone_at_mach_2_and_5_km():
    laminar, turbulent, _, warm, _ = films_at_300_mm(
        2.0, air=AT_5_KM, half_angle=np.radians(10.0), wall=300.0
    )
    assert laminar == pytest.approx(125.6, rel=1e-3)
    assert turbulent == pytest.approx(860.3, rel=1e-3)
    assert warm == pytest.approx(440.25, abs=0.1)


def test_air_whose_specific_heat_rises_recovers_less_temperature():
    warm = films_at_300_mm(3.0, air=AT_10_KM, half_angle=np.radians(10.0), wall=300.0, gas=AIR)[3]
    constant = films_at_300_mm(3.0, air=AT_10_KM, half_angle=np.radians(10.0), wall=300.0)[3]
    assert 3.0 < constant - warm < 7.0  # total temperatures are 6 K apart


# half angle deg, M, cone M, pc/p1, Tc/T1: Sims 1964, NASA SP-3004, recomputed
STEEPER = [(15.0, 3.0, 2.50674, 2.09058, 1.24072), (20.0, 2.0, 1.56774, 1.91153, 1.20679)]


@pytest.mark.parametrize("row", STEEPER, ids=lambda row: f"{row[0]:g} degrees at Mach {row[1]:g}")
def test_steeper_cones_have_the_films_of_their_published_edge(row):
    angle, mach, cone_mach, pressure_ratio, temperature_ratio = row
    wall, cp = 300.0, 1004.6
    Te, pe = temperature_ratio * 223.252, pressure_ratio * 26499.9
    u = cone_mach * np.sqrt(1.4 * 287.053 * Te)
    expected = []
    for power, law, factor in ((1 / 2, 0.332, np.sqrt(3.0)), (1 / 3, 0.0296, 2.25**0.2)):
        Taw = Te * (1.0 + 0.71**power * 0.2 * cone_mach**2)
        T = 0.5 * (Te + wall) + 0.22 * (Taw - Te)
        rho, mu = pe / (287.053 * T), 1.458e-6 * T**1.5 / (T + 110.4)
        Re = rho * u * 0.3 / mu
        stanton = law * Re ** (-0.5 if law > 0.1 else -0.2) * 0.71 ** (-2 / 3)
        expected += [factor * stanton * rho * u * cp, Taw]
    laminar, turbulent, cool, warm, edge = films_at_300_mm(
        mach, air=AT_10_KM, half_angle=np.radians(angle), wall=wall
    )
    assert edge.mach[0, -1] == pytest.approx(cone_mach, rel=2e-4)
    assert edge.pressure[0, -1] == pytest.approx(pe, rel=2e-4)
    assert (cool, warm) == pytest.approx((expected[1], expected[3]), abs=0.2)
    assert laminar == pytest.approx(expected[0], rel=1e-3)
    assert turbulent == pytest.approx(expected[2], rel=1e-3)
