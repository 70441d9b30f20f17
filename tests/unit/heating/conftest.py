"""Bodies and flights the heating is tried on."""

import numpy as np
import pytest

from optitip.flight.trajectory import Flight, Phase
from optitip.inputs.study_tables import Attitude

TEN_DEGREES = float(np.radians(10.0))


def _sphere_cone(*, tip_radius=0.003, half_angle=TEN_DEGREES, length=0.15, count=80):
    """Return the outline arrays of a sphere tangent to a cone, as keywords."""
    s = length * np.linspace(0.0, 1.0, count) ** 2
    joint = tip_radius * (0.5 * np.pi - half_angle)
    angle = np.minimum(s, joint) / tip_radius
    radius = tip_radius * np.sin(angle) + np.maximum(s - joint, 0.0) * np.sin(half_angle)
    return {"arc_length": s, "radius": radius, "slope": 0.5 * np.pi - angle, "tip_radius": tip_radius}


def _flight(*, attitude=Attitude.ACROSS, top_speed=900.0, soak=100.0):
    """Return boost, coast, descent and soak with 40 times; invented."""
    time = np.concatenate(
        [[-5.0], np.linspace(0.0, 3.0, 13), np.linspace(3.5, 30.0, 18), [30.5, 60.0, 120.0]]
    )
    time = np.append(time, [121.0, 121.0 + soak])
    speed = np.interp(time, [0.0, 3.0, 10.0, 30.0, 35.0, 120.0, 121.0], [0.0, top_speed, 300.0, 0, 25, 6, 0])
    altitude = np.interp(time, [0.0, 3.0, 30.0, 120.0], [0.0, 1400.0, 7000.0, 0.0])
    temperature = 288.15 - 0.0065 * altitude
    pressure = 101325.0 * (temperature / 288.15) ** 5.2559
    starts = [0.0, 3.0, 30.0, 120.0]
    phases = np.array(list(Phase))
    return Flight(
        time=time,
        altitude=altitude,
        speed=speed,
        temperature=temperature,
        pressure=pressure,
        density=pressure / (287.0529 * temperature),
        axial_acceleration=np.zeros_like(time),
        phase=phases[np.searchsorted(starts, time, side="right")],
        events={"burnout": 3.0, "apogee": 30.0, "landing": 120.0},
        kinks=tuple(starts),
        attitude=attitude,
        warnings=(),
    )


@pytest.fixture
def sphere_cone():
    """Return the maker of sphere-cones."""
    return _sphere_cone


@pytest.fixture
def make_flight():
    """Return the maker of flights."""
    return _flight
