"""Films, recovery temperature and pressure have no jump, from rest to Mach 5 and along the surface.

What is continuous changes half as much between neighbours when the step is halved; across a jump the change
stays. The bodies have a blunt tip, so no film is singular.
"""

from functools import partial

import numpy as np
import pytest

from optitip.geometry.outline import family_outline, measured_outline
from optitip.heating.edge import edge_states
from optitip.heating.film import recovery_enthalpy, turbulent_plate_film
from optitip.heating.pressure import pressure_coefficient
from optitip.heating.stagnation import laminar_film
from optitip.heating.stream import stations_of, stream_of
from optitip.heating.swallowing import Layer
from optitip.heating.transition import EXPECTED, intermittency
from optitip.inputs.study_tables import OutlineFamily
from optitip.properties.air import AIR

TEMPERATURE, PRESSURE = 240.0, 4e4
WALL = np.array([300.0, 800.0])


def sphere_cone(count, *, half_angle, tip_radius=0.003, length=0.12):
    """Return stations on a sphere tangent to a cone."""
    joint = tip_radius * (0.5 * np.pi - half_angle)
    s = length * np.linspace(0.0, 1.0, count) ** 2
    angle = np.minimum(s, joint) / tip_radius
    radius = tip_radius * np.sin(angle) + np.maximum(s - joint, 0.0) * np.sin(half_angle)
    return stations_of(arc_length=s, radius=radius, slope=0.5 * np.pi - angle, tip_radius=tip_radius)


def sphere_ogive(count, *, tip_radius=0.003, curvature=1.6, length=0.25):
    """Return stations on a sphere followed by an arc that turns from 25 degrees past parallel to the axis."""
    start = np.radians(25.0)
    joint = tip_radius * (0.5 * np.pi - start)
    fine = np.linspace(0.0, length, 20001)
    slope = np.where(fine < joint, 0.5 * np.pi - fine / tip_radius, start - curvature * (fine - joint))
    radius = np.append(0.0, np.cumsum(np.sin(0.5 * (slope[1:] + slope[:-1])) * np.diff(fine)))
    s = length * np.linspace(0.0, 1.0, count) ** 2
    return stations_of(
        arc_length=s,
        radius=np.interp(s, fine, radius),
        slope=np.interp(s, fine, slope),
        tip_radius=tip_radius,
    )


def along(outline, count):
    """Return stations on an outline, close together at its tip."""
    s = outline.total_arc * np.linspace(0.0, 1.0, count) ** 2
    _, radius, slope = outline.at(s)
    return stations_of(arc_length=s, radius=radius, slope=slope, tip_radius=outline.tip_radius)


def of_family(family, *, fineness, tip_radius, exponent=None, share=0.9):
    """Return the maker of stations on a nose of 84 mm diameter, turned over a share of its length."""
    length = 0.084 * fineness
    outline = family_outline(
        family,
        diameter=0.084,
        length=length,
        turned_length=share * length,
        tip_radius=tip_radius,
        exponent=exponent,
    )
    return partial(along, outline)


def of_a_profile():
    """Return the maker of stations on a measured profile: an invented bulged nose with 0.02 mm of scatter."""
    z = np.linspace(0.0, 0.3, 61)
    radius = 0.04 * (1.0 - (1.0 - z / 0.3) ** 1.7) + 2e-5 * np.sin(40.0 * np.arange(61.0) ** 2)
    radius[0] = 0.0
    outline = measured_outline(z, radius, turned_length=0.25, tip_radius=0.004)
    return partial(along, outline)


BODIES = {
    "a cone of 5 degrees": lambda n: sphere_cone(n, half_angle=np.radians(5.0)),
    "a cone of 15 degrees": lambda n: sphere_cone(n, half_angle=np.radians(15.0)),
    "a cone of 35 degrees": lambda n: sphere_cone(n, half_angle=np.radians(35.0)),
    "a cone of 48 degrees": lambda n: sphere_cone(n, half_angle=np.radians(48.0)),
    "an arc past parallel": sphere_ogive,
    "cone": of_family(OutlineFamily.CONE, fineness=3.0, tip_radius=0.0005),
    "tangent ogive": of_family(OutlineFamily.TANGENT_OGIVE, fineness=3.0, tip_radius=0.0003),
    "blunt tangent ogive": of_family(OutlineFamily.TANGENT_OGIVE, fineness=5.0, tip_radius=0.02, share=0.6),
    "von Karman": of_family(OutlineFamily.VON_KARMAN, fineness=5.0, tip_radius=0.003),
    "blunt von Karman": of_family(OutlineFamily.VON_KARMAN, fineness=3.0, tip_radius=0.02, share=0.6),
    "Haack LV": of_family(OutlineFamily.HAACK_LV, fineness=7.0, tip_radius=0.001),
    "ellipse with its own nose": of_family(OutlineFamily.ELLIPSE, fineness=5.0, tip_radius=None),
    "short ellipse": of_family(OutlineFamily.ELLIPSE, fineness=2.5, tip_radius=0.02),
    "power 0.5": of_family(OutlineFamily.POWER, fineness=5.0, tip_radius=0.003, exponent=0.5),
    "power 0.75": of_family(OutlineFamily.POWER, fineness=2.5, tip_radius=0.003, exponent=0.75),
    "parabola": of_family(OutlineFamily.PARABOLA, fineness=4.0, tip_radius=0.002, exponent=0.75),
    "a measured profile": of_a_profile(),
}


def everything(stations, mach):
    """Return pressure coefficient, films and (Tr - T)/M^2 stacked (n_q, n_t, n_s), each of order one."""
    speed = np.asarray(mach) * float(AIR.sound_speed(TEMPERATURE)) * (1.0 - 1e-12)
    stream = stream_of(
        speed=speed,
        temperature=np.full_like(speed, TEMPERATURE),
        pressure=np.full_like(speed, PRESSURE),
        gas=AIR,
    )
    edges = edge_states(stream, stations=stations, gas=AIR)
    edge, mixed = edges[Layer.LAMINAR], edges[Layer.TURBULENT]
    shared = {"stations": stations, "wall": WALL, "gas": AIR}
    laminar = laminar_film(stream, edge=edge, **shared)
    turbulent = np.maximum(turbulent_plate_film(stream, edge=mixed, **shared), laminar)
    weight = intermittency(edge.reynolds, state=EXPECTED, arc_length=stations.arc_length)
    film = laminar + weight[..., None] * (turbulent - laminar)
    level = recovery_enthalpy(stream, edge=edge, factor=AIR.prandtl**0.5)
    rise = (AIR.temperature(level) - TEMPERATURE) / TEMPERATURE
    pressure = (edge.pressure / PRESSURE - 1.0) / 3.0
    parts = [pressure, rise, weight, edge.speed / 1000.0, mixed.speed / 1000.0]
    parts += [np.log(f[..., k] + 30.0) for f in (laminar, turbulent, film) for k in (0, 1)]
    return np.stack(parts)


@pytest.mark.parametrize("name", BODIES)
def test_the_largest_change_between_neighbouring_mach_numbers_goes_to_zero(name):
    # near rest the film goes as the root of the speed, so the steps go as its square
    stations = BODIES[name](40)
    changes = [
        np.abs(np.diff(everything(stations, 5.0 * np.linspace(0.0, 1.0, n) ** 2), axis=1)).max(axis=(1, 2))
        for n in (501, 1001, 2001)
    ]
    assert (changes[1] < 0.6 * changes[0] + 1e-7).all()
    assert (changes[2] < 0.6 * changes[1] + 1e-7).all()


@pytest.mark.parametrize("name", BODIES)
def test_the_largest_change_between_neighbouring_stations_goes_to_zero(name):
    mach = [0.1, 0.6, 0.95, 1.05, 1.3, 1.8, 2.5, 3.5, 5.0]
    changes = [
        np.abs(np.diff(everything(BODIES[name](n), mach), axis=2)).max(axis=(1, 2)) for n in (801, 1601, 3201)
    ]
    assert (changes[1] < 0.6 * changes[0] + 1e-7).all()
    assert (changes[2] < 0.6 * changes[1] + 1e-7).all()


@pytest.mark.parametrize("name", BODIES)
def test_every_number_is_one_and_lies_where_it_must(name):
    stations = BODIES[name](60)
    mach = np.linspace(0.0, 5.0, 101) * (1.0 - 1e-12)
    stream = stream_of(
        speed=mach * float(AIR.sound_speed(TEMPERATURE)),
        temperature=np.full_like(mach, TEMPERATURE),
        pressure=np.full_like(mach, PRESSURE),
        gas=AIR,
    )
    total = AIR.temperature(stream.total_enthalpy)[:, None]
    edges = edge_states(stream, stations=stations, gas=AIR)
    for edge in edges.values():
        assert all(np.isfinite(getattr(edge, one)).all() for one in ("pressure", "mach", "reynolds"))
        assert (edge.pressure > 0.2 * PRESSURE).all()
        assert (edge.pressure <= edge.stagnation_pressure[:, None] * (1.0 + 1e-9)).all()
        for power in (1.0 / 2.0, 1.0 / 3.0):
            recovery = AIR.temperature(recovery_enthalpy(stream, edge=edge, factor=AIR.prandtl**power))
            assert (recovery >= edge.temperature - 1e-9).all()
            assert (recovery <= total + 1e-3).all()
    laminar, turbulent = edges[Layer.LAMINAR], edges[Layer.TURBULENT]
    assert (laminar.speed <= turbulent.speed * (1.0 + 1e-3) + 1e-6).all()  # it has swallowed less
    # the air runs faster the faster the stream, all along a slender side
    slender = stations.slope < np.radians(20.0)
    assert (np.diff(turbulent.speed[20:, slender], axis=0) > 0.0).all()


@pytest.mark.parametrize("tip_radius", [0.0003, 0.001, 0.003, 0.008, 0.02])
@pytest.mark.parametrize(
    "family", [OutlineFamily.CONE, OutlineFamily.VON_KARMAN, OutlineFamily.TANGENT_OGIVE]
)
def test_the_laminar_film_only_falls_aft_without_dip_or_bump_where_the_sphere_ends(family, tip_radius):
    outline = family_outline(family, diameter=0.084, length=0.42, turned_length=0.15, tip_radius=tip_radius)
    ends = outline.sphere_arc
    s = np.concatenate([np.linspace(0.0, 3.0 * ends, 91), np.linspace(3.0 * ends, outline.total_arc, 61)[1:]])
    _, radius, slope = outline.at(s)
    stations = stations_of(arc_length=s, radius=radius, slope=slope, tip_radius=tip_radius)
    mach = np.array([0.1, 0.3, 0.5, 0.7, 0.8, 0.9, 1.0, 1.1, 1.2, 1.35, 1.5, 1.75, 2.0, 2.5, 3.0, 4.0, 5.0])
    speed = mach * float(AIR.sound_speed(TEMPERATURE)) * (1.0 - 1e-12)
    same = np.ones_like(speed)
    stream = stream_of(speed=speed, temperature=TEMPERATURE * same, pressure=PRESSURE * same, gas=AIR)
    edge = edge_states(stream, stations=stations, gas=AIR)[Layer.LAMINAR]
    film = laminar_film(stream, edge=edge, stations=stations, wall=WALL, gas=AIR)
    assert np.diff(np.log(film), axis=1).max() <= 0.0


def test_the_films_converge_with_the_number_of_stations():
    mach = [0.5, 2.0, 4.0]
    fine = everything(sphere_cone(1281, half_angle=np.radians(10.0)), mach)[:, :, ::16]
    errors = [
        np.abs(everything(sphere_cone(n, half_angle=np.radians(10.0)), mach)[:, :, :: (n - 1) // 80] - fine)
        for n in (81, 161)
    ]
    aft = slice(25, None)  # past four tip radii
    assert errors[0][5:, :, aft].max() < 2e-3
    assert errors[1][5:, :, aft].max() < 0.5 * errors[0][5:, :, aft].max()


@pytest.mark.parametrize("mach", [0.3, 1.5, 3.0])
def test_the_corner_where_newton_meets_the_cone_is_rounded(mach):
    # a corner's second differences halve with the step, those of a rounded one fall to a quarter
    bends = []
    for count in (801, 1601):
        s = np.linspace(0.0, 0.003 * np.radians(80.0), count)
        tip = stations_of(arc_length=s, radius=s, slope=0.5 * np.pi - s / 0.003, tip_radius=0.003)
        pressure = pressure_coefficient([mach], stations=tip)
        bends.append(np.abs(np.diff(pressure[0], 2)).max())
    assert bends[1] < 0.3 * bends[0]
