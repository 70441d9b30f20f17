"""NAFEMS T4: two-dimensional conduction with convection.

Source: The Standard NAFEMS Benchmarks, TNSB rev. 3, 1990, test T4. 0.6 x 1.0 m, k 52; y = 0 at 100 C, x = 0
insulated, x = 0.6 and y = 1 lose h 750 to 0 C. Target: T(0.6, 0.2) = 18.3 C; converged 18.2538 C
(recomputed).
Tolerance: 0.05 K on the converged value, 20 x 48 cells drawn together at the corner where the faces meet.
The plane is a ring of radius 10 km: the curvature changes lengths by 3e-5, below 0.003 K.
"""

import numpy as np
import pytest

from optitip.solvers.assembly import assemble
from optitip.solvers.body import Sink
from optitip.solvers.march import march

RADIUS = 1e4


def test_the_point_on_the_cooled_side_reaches_its_temperature(solid, surface, lattice_body, edge_areas):
    # cells shrink towards x = 0.6 and towards y = 0, where the prescribed and the cooled side meet
    x = RADIUS + 0.6 * (1.0 - (1.0 - np.linspace(0.0, 1.0, 21)) ** 2)
    y = np.concatenate([0.2 * np.linspace(0.0, 1.0, 17) ** 2, np.linspace(0.2, 1.0, 33)[1:]])
    body, node = lattice_body(
        np.stack(np.broadcast_arrays(x[None, :], y[:, None]), axis=-1),
        material=solid(52.0, heat_capacity=3.6e6),
    )
    side, top = node[:, -1], node[-1, ::-1]
    cooled = np.concatenate([side, top[1:]])
    model = assemble(body)
    lost = surface(cooled, area=edge_areas(body.points, nodes=cooled), film=750.0, recovery=273.15)
    fixed = Sink(nodes=node[0], conductance=1e7 * edge_areas(body.points, nodes=node[0]), temperature=373.15)
    history = march(model, surface=lost, sinks=[fixed], start=300.0, end_time=1e6)
    assert history.temperature[-1, side[16]] - 273.15 == pytest.approx(18.2538, abs=0.05)
