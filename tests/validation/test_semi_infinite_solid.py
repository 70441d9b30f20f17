"""Semi-infinite solid under a constant flux, and under a constant film.

Sources: flux: Holman, Heat Transfer, example 4-2: 35 C, 3.2e5 W/m2, k 45, alpha 1.4e-5, x 25 mm, 30 s: 79.3
C. Film: the textbooks' (T - Ti)/(Tinf - Ti) = erfc X - exp(hx/k + h2 a t/k2) erfc(X + h sqrt(a t)/k), X =
x/(2 sqrt(a t)).
Tolerance: 0.1 K on the printed 79.3 C, 0.05 K on the formulas; 0.3 m deep in 1 mm cells, the far face
insulated.
"""

import numpy as np
import pytest
from scipy.special import erfc

from optitip.solvers.body import Sink
from optitip.solvers.march import march

K, ALPHA, START = 45.0, 1.4e-5, 308.15


def _deep(column, solid):
    return column((np.linspace(0.0, 0.3, 301), solid(K, heat_capacity=K / ALPHA)))


def test_a_constant_flux_warms_the_inside_as_holman_prints(column, solid):
    deep = _deep(column, solid)
    flux = Sink(nodes=deep.near, conductance=3.2e5 / 1e12 * deep.area, temperature=1e12)
    history = march(deep.model, sinks=[flux], start=START, end_time=30.0, tolerance=0.02)
    reached = history.temperature[-1, deep.layers[0][25]]
    root = np.sqrt(ALPHA * 30.0)
    exact = 2.0 * root / np.sqrt(np.pi) * np.exp(-(0.025**2) / (4.0 * root**2)) - 0.025 * erfc(
        0.025 / 2.0 / root
    )
    assert reached - 273.15 == pytest.approx(79.3, abs=0.1)
    assert reached - START == pytest.approx(3.2e5 / K * exact, abs=0.05)


def test_a_constant_film_warms_the_inside_as_the_error_functions_say(column, solid, surface):
    deep = _deep(column, solid)
    film, gas = 3000.0, 800.0
    heated = surface(deep.near, area=deep.area, film=film, recovery=gas)
    history = march(deep.model, surface=heated, start=START, end_time=30.0, tolerance=0.02)
    x = np.array([0.0, 0.01, 0.025, 0.05])
    root = np.sqrt(ALPHA * 30.0)
    own = x / (2.0 * root)
    share = erfc(own) - np.exp(film * x / K + (film * root / K) ** 2) * erfc(own + film * root / K)
    reached = history.temperature[-1, deep.layers[0][[0, 10, 25, 50]]]
    assert reached == pytest.approx(START + (gas - START) * share, abs=0.05)
