"""A face stepped above boiling dries a wet slab: the front and the heat of Stefan's problem.

Source: Carslaw & Jaeger 1959, chapter 11 (Neumann's solution, from memory); roots of the one-phase problem
lambda exp(lambda2) erf(lambda) = Ste/sqrt(pi): Ste .1/.5/1/2 -> .22002/.46479/.62006/.80060 (recomputed).
Two phases: face from 20 to 200 C, boiling at 100 C, dry k 0.15, c 1.2e6, wet 0.6, 4.0e6, L 1.6e9 J/m3: after
10 s the front stands at 0.30057 mm and 1004.1 kJ/m2 have entered (recomputed).
Tolerance: 1 % in cells of 0.075 mm, four of them dry; 1 % on the one-phase fronts in cells of a fortieth of
each.
"""

import numpy as np
import pytest

from optitip.solvers.march import march

BOILING, LATENT = 373.15, 1.6e9
FIXED = 1e7


def _dried_depth(history):
    return history.latent[-1, 0] / LATENT


def test_the_front_and_the_heat_after_ten_seconds(column, solid, surface):
    wet = solid(
        lambda t: np.where(t > BOILING, 0.15, 0.6),
        heat_capacity=lambda t: np.where(t > BOILING, 1.2e6, 4.0e6),
        boiling=BOILING,
        latent_heat=LATENT,
    )
    slab = column((np.arange(0.0, 6e-3, 0.075e-3), wet))
    face = surface(slab.near, area=slab.area, film=FIXED, recovery=473.15)
    history = march(slab.model, surface=face, start=293.15, end_time=10.0)
    assert _dried_depth(history) == pytest.approx(0.30057e-3, rel=0.01)
    assert history.convected[-1] == pytest.approx(1004.1e3, rel=0.01)


@pytest.mark.parametrize(("stefan", "root"), [(0.1, 0.22002), (0.5, 0.46479), (1.0, 0.62006), (2.0, 0.80060)])
def test_the_front_into_a_slab_already_at_boiling(stefan, root, column, solid, surface):
    k, c = 0.5, 4e6
    rise = stefan * LATENT / c
    front = 2.0 * root * np.sqrt(k / c * 100.0)
    # half a cell stands behind the face, so the front passes a cell's edge when it is counted
    slab = column(
        (
            np.arange(0.0, 2.0 * front, front / 40.5),
            solid(k, heat_capacity=c, boiling=BOILING, latent_heat=LATENT),
        )
    )
    face = surface(slab.near, area=slab.area, film=FIXED, recovery=BOILING + rise)
    history = march(slab.model, surface=face, start=BOILING, end_time=100.0)
    assert _dried_depth(history) == pytest.approx(front, rel=0.01)
