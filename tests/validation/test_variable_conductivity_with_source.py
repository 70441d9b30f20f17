"""A plate whose conductivity grows with temperature, with a source all through it.

Source: Arpaci, Conduction Heat Transfer, 1966 (the numbers from memory, recomputed): k = 2 (1 + 0.01 T),
source 5, L 10, T(L) = 0, insulated at 0: T + 0.005 T2 = 5 L2/(2 x 2), T(0) = 87.0828687.
Tolerance: 0.01 K with 40 cells: tau is exact at the nodes, the table of k(T) and the march bring the rest.
T is counted from 300 K. The source is a sink so hot behind so little conductance that T changes it by 1e-10.
"""

import numpy as np
import pytest

from optitip.solvers.body import Sink
from optitip.solvers.march import march


def test_the_insulated_face_reaches_its_temperature(column, solid):
    plate = column(
        (
            np.linspace(0.0, 10.0, 41),
            solid(lambda t: 2.0 * (1.0 + 0.01 * np.maximum(t - 300.0, -50.0)), heat_capacity=1.0),
        )
    )
    every = np.arange(plate.model.volume.size)
    sinks = [
        Sink(nodes=every, conductance=5.0 / 1e12 * plate.model.volume, temperature=1e12),
        Sink(nodes=plate.far, conductance=1e6 * plate.area, temperature=300.0),
    ]
    history = march(plate.model, sinks=sinks, start=300.0, end_time=1e4, tolerance=1e-3)
    assert history.temperature[-1, 0] - 300.0 == pytest.approx(87.0828687, abs=0.01)
