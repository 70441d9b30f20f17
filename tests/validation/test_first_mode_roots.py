"""Slab, cylinder and sphere in a film: the first root of each and its amplitude at the middle.

Source: Incropera & DeWitt, Fundamentals of Heat and Mass Transfer, table 5.1 (recomputed), zeta and C1 at Bi
1: slab .8603/1.1191, cylinder 1.2558/1.2071, sphere 1.5708/1.2732; at Bi .1: .3111/1.0161, .4417/1.0246,
.5423/1.0298. The middle cools as C1 exp(-zeta2 Fo) once Fo > 0.2; read at Fo 0.8 and 1.6.
Tolerance: zeta 0.1 %, C1 0.3 %; 40 cells along the radius (sphere: 40 x 24), tolerance of the march 0.002 K.
"""

import numpy as np
import pytest

from optitip.solvers.assembly import assemble
from optitip.solvers.march import march

K, HEAT_CAPACITY, SIZE = 2.0, 2e6, 0.01
ROOTS = {
    ("slab", 1.0): (0.8603, 1.1191),
    ("slab", 0.1): (0.3111, 1.0161),
    ("cylinder", 1.0): (1.2558, 1.2071),
    ("cylinder", 0.1): (0.4417, 1.0246),
    ("sphere", 1.0): (1.5708, 1.2732),
    ("sphere", 0.1): (0.5423, 1.0298),
}


def _lattice(shape):
    ray = np.linspace(0.0, SIZE, 41)[:, None]
    if shape == "slab":
        return np.stack(np.broadcast_arrays(np.array([0.0, 0.01]), ray), axis=-1)
    if shape == "cylinder":
        return np.stack(np.broadcast_arrays(ray, np.array([0.0, 0.002])), axis=-1)
    angle = np.linspace(0.0, 0.5 * np.pi, 25)
    return np.stack([ray * np.sin(angle), ray * np.cos(angle)], axis=-1)


@pytest.mark.parametrize(("shape", "biot"), ROOTS)
def test_the_middle_cools_with_the_first_root_and_its_amplitude(
    shape, biot, solid, surface, lattice_body, edge_areas
):
    body, node = lattice_body(_lattice(shape), material=solid(K, heat_capacity=HEAT_CAPACITY))
    outer, middle = node[-1], node[0, 0]
    film = biot * K / SIZE
    cooled = surface(outer, area=edge_areas(body.points, nodes=outer), film=film, recovery=300.0)
    fourier = np.array([0.8, 1.6])
    instants = fourier * SIZE**2 * HEAT_CAPACITY / K
    history = march(
        assemble(body), surface=cooled, start=400.0, end_time=instants[1], kinks=instants[:1], tolerance=0.002
    )
    share = (history.temperature[np.searchsorted(history.time, instants), middle] - 300.0) / 100.0
    root, amplitude = ROOTS[shape, biot]
    zeta = np.sqrt(np.log(share[0] / share[1]) / (fourier[1] - fourier[0]))
    assert zeta == pytest.approx(root, rel=1e-3)
    assert share[1] * np.exp(root**2 * fourier[1]) == pytest.approx(amplitude, rel=3e-3)
