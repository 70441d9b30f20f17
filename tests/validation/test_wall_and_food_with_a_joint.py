"""A metal wall pressed on food: the steady flux through a joint, and the first contact of two half-spaces.

Source: series resistances, and the contact temperature of two half-spaces (Carslaw & Jaeger 1959, from
memory): T = (b1 T1 + b2 T2)/(b1 + b2), b = sqrt(k rho c). Steady: 1 mm of 6061 (k 167), joint 500 W/(m2 K),
5 mm of food (k 0.5), 200 to 20 C: 14992.5 W/m2, joint faces 199.910 and 169.925 C (recomputed). Contact:
6061 (167/2700/896) at 200 C on wet food (0.5/1060/3500) at 20 C: 188.577 C (recomputed).
Tolerance: steady 0.01 K and 1e-4; contact 0.1 K (joint of 1e8 W/(m2 K), cells from 0.01 mm).
"""

import numpy as np
import pytest

from optitip.solvers.body import Sink
from optitip.solvers.march import march


def test_the_steady_joint_has_the_flux_and_the_faces_of_its_series(column, solid):
    wall, food = solid(167.0, heat_capacity=2700.0 * 896.0), solid(0.5, heat_capacity=1060.0 * 3500.0)
    z = np.linspace(0.0, 1.0, 11)
    body = column((1e-3 * z, wall), (1e-3 + 5e-3 * z, food), joints=[500.0])
    sinks = [
        Sink(nodes=nodes, conductance=1e9 * body.area, temperature=temperature)
        for nodes, temperature in ((body.near, 473.15), (body.far, 293.15))
    ]
    history = march(body.model, sinks=sinks, start=293.15, end_time=2000.0, tolerance=1e-3)
    faces = history.temperature[-1, [body.layers[0][-1], body.layers[1][0]]] - 273.15
    flux = 500.0 * (faces[0] - faces[1])
    assert faces == pytest.approx([199.910, 169.925], abs=0.01)
    assert flux == pytest.approx(14992.5, rel=1e-4)


def test_two_half_spaces_meet_at_the_temperature_of_their_effusivities(column, solid):
    wall, food = solid(167.0, heat_capacity=2700.0 * 896.0), solid(0.5, heat_capacity=1060.0 * 3500.0)
    depth = np.linspace(0.0, 1.0, 81) ** 2
    body = column(
        (0.2 * (depth - 1.0)[0] + 0.2 * (1.0 - depth[::-1]), wall), (0.01 * depth, food), joints=[1e8]
    )
    start = np.concatenate([np.full(162, 473.15), np.full(162, 293.15)])
    history = march(body.model, start=start, end_time=1.0, tolerance=0.01)
    faces = history.temperature[-1, [body.layers[0][-1], body.layers[1][0]]] - 273.15
    assert faces == pytest.approx([188.577, 188.577], abs=0.1)
