"""NAFEMS T2: one-dimensional conduction with radiation.

Source: The Standard NAFEMS Benchmarks, TNSB rev. 3, 1990, test T2. L 0.1 m, k 55.6, T(0) 1000 K, the far end
radiates with emissivity 0.98 to 300 K. Target: T(L) = 927.0 K.
Tolerance: 0.1 K (the target has four digits); the last digits come from the scalar balance k (T0 - T)/L =
q(T).
"""

import numpy as np
import pytest
from scipy.optimize import brentq

from optitip.solvers.body import Sink
from optitip.solvers.march import march


def test_the_radiating_end_settles_at_927_kelvin(column, solid, surface):
    bar = column((np.linspace(0.0, 0.1, 11), solid(55.6, heat_capacity=3.6e6)))
    end = surface(bar.far, area=bar.area, emissivity=0.98, surroundings=300.0)
    hot = Sink(nodes=bar.near, conductance=1e9 * bar.area, temperature=1000.0)
    history = march(bar.model, surface=end, sinks=[hot], start=1000.0, end_time=1e5)
    reached = history.temperature[-1, bar.far[0]]
    exact = brentq(
        lambda t: 55.6 * (1000.0 - t) / 0.1 - 0.98 * 5.670374e-8 * (t**4 - 300.0**4), 500.0, 1000.0
    )
    assert reached == pytest.approx(927.0, abs=0.1)
    assert reached == pytest.approx(exact, abs=0.001)
