"""Tube with steady heat through its wall, ends free: hoop and axial stress at the bore and outside.

Source: Timoshenko & Goodier, Theory of Elasticity, the hollow cylinder with logarithmic temperature:
a 20 mm, b 40 mm, E 70 GPa, alpha 23.6e-6, nu 0.33, 100 K hotter inside: sigma_theta = sigma_z =
-150.896 MPa at the bore and +95.672 MPa outside (recomputed), away from the ends.
Tolerance: 0.5 % at the faces on 32 cells across; the middle of a tube of 5 diameters.
"""

import numpy as np
import pytest

from optitip.solvers.elastic import Restraint


@pytest.mark.parametrize("component", [1, 2], ids=["axial", "hoop"])
def test_the_stress_at_both_faces_is_the_published_one(solve_lattice, elastic, tube_lattice, component):
    lattice = tube_lattice(0.02, 0.04, length=0.4, strips=60, across=32)
    heat = 300.0 + 100.0 * np.log(0.04 / lattice[..., 0]) / np.log(2.0)
    tube = solve_lattice(lattice, elastic=elastic(), restraint=Restraint.FREE, temperature=heat)
    stress = tube.at_lattice(tube.fields.total)[30, :, component] / 1e6
    assert stress[-1] == pytest.approx(-150.896, rel=5e-3)
    assert stress[0] == pytest.approx(95.672, rel=5e-3)
