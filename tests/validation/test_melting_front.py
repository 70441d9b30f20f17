"""Half spaces that freeze and melt: the front and the heat of Neumann's problem, against grid and step.

Source: Carslaw & Jaeger 1959, chapter 11 (Neumann's solution, from memory); lambda from
k1 (Tm - Ts) exp(-l2)/(sqrt(a1) erf l) - k2 (T0 - Tm) exp(-l2 a1/a2)/(sqrt(a2) erfc(l sqrt(a1/a2)))
= L l sqrt(pi a1), solved here. Freezing: water at 10 degC against a face at -20 degC, ice k 2.2, c 1.9e6,
water 0.56, 4.2e6, L 3.06e8 J/m3. One phase: roots lambda exp(lambda2) erf(lambda) = Ste/sqrt(pi):
Ste .1/.5/1/2 -> .22002/.46479/.62006/.80060 (recomputed). Melting is taken over 0.1 K.
Tolerance: 1 % on the heat and on the front in cells of a fiftieth of it, with steps of 0.1 and of 0.02 K.
"""

import numpy as np
import pytest
from scipy.optimize import brentq
from scipy.special import erf, erfc

from optitip.metrics.depth import depth_of_share
from optitip.solvers.march import march

WIDTH, FIXED = 0.1, 1e7
ICE, WATER, LATENT = (2.2, 1.9e6), (0.56, 4.2e6), 3.06e8
MELTING, FACE, START = 273.15, 253.15, 283.15


def _root():
    (k1, c1), (k2, c2) = ICE, WATER
    a1, a2 = k1 / c1, k2 / c2

    def residual(root):
        other = root * np.sqrt(a1 / a2)
        frozen = k1 * (MELTING - FACE) * np.exp(-(root**2)) / (np.sqrt(a1) * erf(root))
        liquid = k2 * (START - MELTING) * np.exp(-(other**2)) / (np.sqrt(a2) * erfc(other))
        return frozen - liquid - LATENT * root * np.sqrt(np.pi * a1)

    return brentq(residual, 1e-3, 3.0), a1


def _changed(slab, history, *, low, high, warmer):
    """Return how deep the slab has melted, or frozen, at each instant: the share of the way of each node."""
    share = np.clip((history.temperature[:, slab.layers[0]] - low) / (high - low), 0.0, 1.0)
    depth = slab.body.points[slab.layers[0], 1]
    arc = np.broadcast_to(depth, share.shape)
    return depth_of_share(arc, share if warmer else 1.0 - share)


@pytest.mark.parametrize("tolerance", [0.1, 0.02])
def test_a_half_space_freezes_as_neumann_says(tolerance, column, solid, surface):
    low = MELTING - WIDTH
    water = solid(
        lambda t: np.where(t > low + 0.5 * WIDTH, WATER[0], ICE[0]),
        heat_capacity=lambda t: np.where(t > low + 0.5 * WIDTH, WATER[1], ICE[1]),
        melting=(low, MELTING),
        latent_heat=LATENT,
    )
    root, diffusivity = _root()
    seconds = 100.0
    front = 2.0 * root * np.sqrt(diffusivity * seconds)
    slab = column((np.arange(0.0, 6.0 * front, front / 49.5), water))
    face = surface(slab.near, area=slab.area, film=FIXED, recovery=FACE)
    history = march(slab.model, surface=face, start=START, end_time=seconds, tolerance=tolerance)
    late = history.time > 0.25 * seconds
    at = history.time[late]
    exact = 2.0 * root * np.sqrt(diffusivity * at)
    found = _changed(slab, history, low=low, high=MELTING, warmer=False)[late]
    assert found[-1] == pytest.approx(exact[-1], rel=0.01)
    # between, half a cell more or less: each node freezes in its turn
    assert found == pytest.approx(exact, abs=0.51 * front / 49.5)
    taken = 2.0 * ICE[0] * (MELTING - FACE) * np.sqrt(at / (np.pi * diffusivity)) / erf(root)
    assert -history.convected[late] == pytest.approx(taken, rel=0.01)


@pytest.mark.parametrize(("stefan", "root"), [(0.1, 0.22002), (0.5, 0.46479), (1.0, 0.62006), (2.0, 0.80060)])
def test_a_slab_at_its_melting_point_melts_as_stefan_says(stefan, root, column, solid, surface):
    k, c, latent, seconds = 0.5, 4e6, 3e8, 100.0
    rise = stefan * latent / c
    front = 2.0 * root * np.sqrt(k / c * seconds)
    wax = solid(k, heat_capacity=c, melting=(330.0, 330.0 + WIDTH), latent_heat=latent)
    slab = column((np.arange(0.0, 2.0 * front, front / 50.5), wax))
    face = surface(slab.near, area=slab.area, film=FIXED, recovery=330.0 + WIDTH + rise)
    history = march(slab.model, surface=face, start=330.0, end_time=seconds, tolerance=0.05)
    melted = _changed(slab, history, low=330.0, high=330.0 + WIDTH, warmer=True)
    assert melted[-1] == pytest.approx(front, rel=0.01)
    entered = 2.0 * k * rise * np.sqrt(seconds / (np.pi * k / c)) / erf(root)
    assert history.convected[-1] == pytest.approx(entered, rel=0.01)


def test_what_melted_gives_all_its_heat_back(column, solid, surface):
    wax = solid(0.3, heat_capacity=2e6, melting=(325.0, 333.0), latent_heat=1.7e8)
    slab = column((np.linspace(0.0, 4e-3, 21), wax))
    # hot for 60 s, then at the start's temperature until all has frozen again
    time = [0.0, 60.0, 61.0, 4000.0]
    recovery = [400.0, 400.0, 300.0, 300.0]
    face = surface(slab.near, area=slab.area, film=500.0, recovery=recovery, time=time)
    history = march(slab.model, surface=face, start=300.0, end_time=4000.0, kinks=(60.0, 61.0))
    most = history.convected.max()
    assert history.temperature.max() > 335.0
    assert history.latent[-1].sum() == 0.0
    assert abs(history.convected[-1]) < 2e-3 * most
