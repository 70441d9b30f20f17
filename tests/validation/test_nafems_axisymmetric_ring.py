"""NAFEMS axisymmetric heat transfer: a ring with a flux through part of its bore.

Source: The Standard NAFEMS Benchmarks, TNSB rev. 3, 1990, axisymmetric steady case. r 0.02-0.10 m, z 0-0.14
m, k 52; 273.15 K on top, bottom and outside; 5e5 W/m2 through r = 0.02 for 0.04 <= z <= 0.10, the rest of
the bore insulated. Target: T(r 0.04, z 0.04) = 332.97 K.
Tolerance: 0.1 K, 32 x 56 cells.
"""

import numpy as np
import pytest

from optitip.solvers.assembly import assemble
from optitip.solvers.body import Sink
from optitip.solvers.march import march


def test_the_ring_reaches_its_temperature(solid, lattice_body, edge_areas):
    r, z = np.linspace(0.10, 0.02, 33), np.linspace(0.0, 0.14, 57)
    body, node = lattice_body(
        np.stack(np.broadcast_arrays(r[None, :], z[:, None]), axis=-1),
        material=solid(52.0, heat_capacity=3.6e6),
    )
    heated = node[16:41, -1]
    cold = np.concatenate([node[0, ::-1], node[1:, 0], node[-1, 1:]])
    hot_area, cold_area = (edge_areas(body.points, nodes=nodes) for nodes in (heated, cold))
    # a source behind so little conductance that the wall's own temperature doesn't matter
    sinks = [
        Sink(nodes=heated, conductance=5e5 / 1e12 * hot_area, temperature=1e12),
        Sink(nodes=cold, conductance=1e7 * cold_area, temperature=273.15),
    ]
    history = march(assemble(body), sinks=sinks, start=273.15, end_time=1e5)
    assert history.temperature[-1, node[16, 24]] == pytest.approx(332.97, abs=0.1)
