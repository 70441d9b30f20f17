"""NAFEMS T3: one-dimensional transient conduction.

Source: The Standard NAFEMS Benchmarks, TNSB rev. 3, 1990, test T3. L 0.1 m, k 35, cp 440.5, rho 7200; starts
at 0 C; T(0) = 0 C, T(L, t) = 100 sin(pi t/40) C. Target: T(0.08 m, 32 s) = 36.6 C.
Tolerance: 0.01 K on the exact series, 36.6031 C (recomputed), with 100 cells and the march at 0.01 K.
"""

import numpy as np
import pytest

from optitip.solvers.body import Sink
from optitip.solvers.march import march

ZERO_CELSIUS = 273.15
FIXED = 1e9  # W/(m2 K): a film so good that the face follows what stands behind it


def test_the_temperature_at_eight_centimetres_after_32_seconds(column, solid, surface):
    bar = column((np.linspace(0.0, 0.1, 101), solid(35.0, heat_capacity=440.5 * 7200.0)))
    time = np.linspace(0.0, 32.0, 641)
    end = surface(
        bar.far,
        area=bar.area,
        film=FIXED,
        recovery=ZERO_CELSIUS + 100.0 * np.sin(np.pi * time / 40.0),
        time=time,
    )
    cold = Sink(nodes=bar.near, conductance=FIXED * bar.area, temperature=ZERO_CELSIUS)
    history = march(bar.model, surface=end, sinks=[cold], start=ZERO_CELSIUS, end_time=32.0, tolerance=0.01)
    reached = history.temperature[-1, bar.layers[0][80]] - ZERO_CELSIUS
    assert reached == pytest.approx(36.6031, abs=0.01)
