"""A face stepped above boiling dries a wet slab: the front and the heat of Stefan's problem.

Source: Carslaw & Jaeger 1959, chapter 11 (Neumann's solution, from memory); roots of the one-phase problem
lambda exp(lambda2) erf(lambda) = Ste/sqrt(pi): Ste .1/.5/1/2 -> .22002/.46479/.62006/.80060 (recomputed).
Two phases: face from 20 to 200 C, boiling at 100 C, dry k 0.15, c 1.2e6, wet 0.6, 4.0e6, L 1.6e9 J/m3: after
10 s the front stands at 0.30057 mm and 1004.1 kJ/m2 have entered (recomputed).
Tolerance: 0.5 % on the front and 0.25 % on the heat after 10 s in cells of 0.025 mm, twelve of them dry, and
1 % and 0.25 % at any instant after 4 s. 1 % on the one-phase fronts in cells of a fortieth of each.
"""

import numpy as np
import pytest

from optitip.properties.phases import EDGE
from optitip.solvers.march import march

BOILING, LATENT = 373.15, 1.6e9
FRONT, HEAT = 0.30057e-3, 1004.1e3
FIXED = 1e7


def _dried_depth(history):
    return history.latent[:, 0] / LATENT


@pytest.fixture
def drying(column, solid, surface):
    """Return what marches the two-phase problem in cells of a given size; dry and wet differ at once."""

    def marched(cell, *, tolerance=0.1):
        grid = np.sort(np.append(np.arange(73.15, 2474.0), BOILING + EDGE))
        wet = solid(
            lambda t: np.where(t > BOILING + 0.5 * EDGE, 0.15, 0.6),
            heat_capacity=lambda t: np.where(t > BOILING + 0.5 * EDGE, 1.2e6, 4.0e6),
            boiling=BOILING,
            latent_heat=LATENT,
            grid=grid,
        )
        slab = column((np.arange(0.0, 6e-3, cell), wet))
        face = surface(slab.near, area=slab.area, film=FIXED, recovery=473.15)
        return march(slab.model, surface=face, start=293.15, end_time=10.0, tolerance=tolerance)

    return marched


@pytest.mark.parametrize("tolerance", [0.1, 0.02])
def test_the_front_and_the_heat_after_ten_seconds(tolerance, drying):
    history = drying(0.025e-3, tolerance=tolerance)
    assert _dried_depth(history)[-1] == pytest.approx(FRONT, rel=5e-3)
    assert history.convected[-1] == pytest.approx(HEAT, rel=2.5e-3)


def test_the_front_and_the_heat_at_any_instant(drying):
    history = drying(0.025e-3)
    late = history.time > 4.0
    root = np.sqrt(history.time[late] / 10.0)
    assert _dried_depth(history)[late] == pytest.approx(FRONT * root, rel=1e-2)
    assert history.convected[late] == pytest.approx(HEAT * root, rel=2.5e-3)


def test_coarse_cells_dry_late_by_what_the_half_dry_cell_holds_back(drying):
    # a cell that dries holds its whole width at boiling: the front lags most at its middle, not at its edges
    errors = []
    for cell in (0.1e-3, 0.05e-3, 0.025e-3):
        history = drying(cell)
        late = history.time > 4.0
        errors.append(_dried_depth(history)[late] / (FRONT * np.sqrt(history.time[late] / 10.0)) - 1.0)
    worst = [np.abs(one).max() for one in errors]
    assert worst[0] > 2.5 * worst[1] > 6.0 * worst[2]
    assert max(one.max() for one in errors) < 0.015


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
    assert _dried_depth(history)[-1] == pytest.approx(front, rel=0.01)
