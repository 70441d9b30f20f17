"""The fused ascent: exact data come back, noise leaves no bias, the altitude is the integral of the climb."""

import math

import numpy as np
import pytest
from clean_flight import SITE, clean

from optitip.flight.fusion import fuse
from optitip.flight.least_squares import Measured
from optitip.flight.nodes import summed
from optitip.flight.turning import steepness, turn_of
from optitip.inputs.recording import Quantity

BURNOUT, APOGEE = 3.0, 20.0


def exact_speed(t):
    """Return the integral of 200 + 40 sin(3 t) up to the burnout, and of -90 exp(-(t - 3)/5) - 6 after."""
    boost = np.minimum(t, BURNOUT)
    coast = np.maximum(t - BURNOUT, 0.0)
    push = 200.0 * boost + 40.0 / 3.0 * (1.0 - np.cos(3.0 * boost))
    return push - 90.0 * 5.0 * (1.0 - np.exp(-coast / 5.0)) - 6.0 * coast


def error_at(spacing):
    t = np.arange(0.005, APOGEE, 0.01)
    exact = Measured(quantity=Quantity.SPEED, time=t, values=exact_speed(t))
    found = fuse([exact], burnout=BURNOUT, apogee=APOGEE, spacing=spacing, burnout_known=True)
    return float(np.abs(found.at(t)[1] - exact_speed(t)).max())


def test_exact_speeds_come_back_the_better_the_closer_the_nodes():
    coarse, middle, fine = (error_at(spacing) for spacing in (0.6, 0.3, 0.15))
    assert coarse / middle > 4.0  # an acceleration straight between nodes leaves a speed of third order
    assert middle / fine > 4.0
    assert fine < 0.05


@pytest.mark.parametrize(("rail", "with_push"), [(86.0, False), (86.0, True)])
def test_noise_leaves_no_bias(rail, with_push):
    now = clean(rail)
    apogee = now.events["apogee"]
    t = np.arange(-4.0, apogee, 0.05)
    at = np.linspace(0.5, 0.8 * apogee, 300)
    errors, peaks = [], []
    for seed in range(20):
        rng = np.random.default_rng(seed)
        z = now.altitude(t) + 2.0 * rng.standard_normal(t.size)
        measured = [Measured(quantity=Quantity.ALTITUDE, time=t, values=z)]
        if with_push:
            felt = now.felt(t) + 5.0 * rng.standard_normal(t.size)
            flying = t > 0.0
            measured.append(Measured(quantity=Quantity.ACCELERATION, time=t[flying], values=felt[flying]))
        found = fuse(
            measured, burnout=now.events["burnout"], apogee=apogee, spacing=0.1, burnout_known=with_push
        )
        speed = found.at(at)[1]
        errors.append(speed - now.speed(at))
        peaks.append(found.speed.max() / now.path.speed.max() - 1.0)
    # of 820 m/s: the mean over seeds and times, its worst moment but the burnout's own second, and the peak
    mean = np.mean(errors, axis=0)
    away = np.abs(at - now.events["burnout"]) > 0.5
    assert abs(mean.mean()) < 1.0
    assert np.abs(mean[away]).max() < 5.0
    assert abs(np.mean(peaks)) < 0.01
    assert np.std(peaks) < 0.006


@pytest.mark.parametrize("rail", [80.0, 85.0, 89.0])
def test_a_path_that_turns_over_by_gravity_climbs_as_the_one_that_was_reckoned(rail):
    now = clean(rail)
    apogee = now.events["apogee"]
    up = now.path.time <= apogee
    t, z, v = now.path.time[up], now.path.altitude[up], now.path.speed[up]
    sine = steepness(t, speed=v, apogee=apogee, turn=turn_of(math.radians(rail)))
    climbed = summed(t, v * sine)
    assert climbed == pytest.approx(z - z[0], abs=3.0)  # of 7,500 m; a rail of 6 m for 3 m makes 18 m


def test_the_altitude_is_the_integral_of_the_climb():
    now = clean(86.0)
    t = np.arange(-4.0, now.events["apogee"], 0.05)
    z = now.altitude(t) + np.random.default_rng(1).standard_normal(t.size)
    found = fuse(
        [Measured(quantity=Quantity.ALTITUDE, time=t, values=z)],
        burnout=now.events["burnout"],
        apogee=now.events["apogee"],
        spacing=0.1,
    )
    climbed = summed(found.time, found.speed * found.steepness)
    assert found.altitude - found.altitude[0] == pytest.approx(climbed, abs=1e-6)
    assert found.altitude[0] == pytest.approx(SITE, abs=1.0)
    gained = summed(found.time, found.acceleration)
    assert found.speed == pytest.approx(gained, abs=1e-6)
