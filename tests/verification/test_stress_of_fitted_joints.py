"""A misfit between two thin tubes end to end bends them as beams on an elastic foundation.

Source: Timoshenko & Woinowsky-Krieger, Theory of Plates and Shells, bending of a circular cylindrical shell
loaded symmetrically (from memory): w = Q0/(2 beta^3 D) exp(-beta z) cos(beta z) under an edge force Q0 alone,
beta^4 = 3 (1 - nu^2)/(R t)^2, D = E t^3/(12 (1 - nu^2)). The two tubes share their slope, which the mirror
image makes alike anyway, so no moment passes the joint and each takes half of the misfit.
"""

import numpy as np
import pytest

from optitip.solvers.elastic import Restraint
from optitip.solvers.elastic_joints import JointFit

RADIUS, WALL, LENGTH = 0.05, 0.001, 0.06
BETA = (3.0 * (1.0 - 0.33**2)) ** 0.25 / np.sqrt(RADIUS * WALL)
STIFFNESS = 70e9 * WALL**3 / (12.0 * (1.0 - 0.33**2))
STRIPS = 60


@pytest.fixture
def joined(solve_lattice, elastic, tube_lattice):
    """Return the solver of the two tubes with an offset between them, the aft one warmed by some kelvin."""

    def solved(offset, *, warmed=0.0):
        inner, outer = RADIUS - 0.5 * WALL, RADIUS + 0.5 * WALL
        fore = tube_lattice(inner, outer, length=LENGTH, strips=STRIPS, across=4)
        lattice = np.concatenate((fore, fore + np.array([0.0, LENGTH])))
        temperature = np.full(lattice.shape[:2], 300.0)
        temperature[len(fore) :] += warmed
        return solve_lattice(
            lattice,
            elastic=elastic(),
            restraint=Restraint.FREE,
            strip_zone=np.array([0] * STRIPS + [-1] + [1] * STRIPS),
            temperature=temperature,
            fits={0: JointFit(offset=offset)},
        )

    return solved


def test_the_misfit_of_two_tubes_decays_as_the_shell_theory_says(joined):
    tube = joined(2e-5)
    middle = tube.fields.total_movement[0][tube.cells.rows[:, 2], 0]
    away = tube.points[: STRIPS + 1, 2, 1]
    expected = 1e-5 * np.exp(-BETA * away) * np.cos(BETA * away)
    np.testing.assert_allclose(middle[STRIPS::-1], expected, atol=0.02 * 1e-5)
    np.testing.assert_allclose(middle[STRIPS + 1 :], -expected, atol=0.02 * 1e-5)


def test_two_tubes_press_on_each_other_with_the_edge_force_of_their_misfit(joined):
    """Q0 = 2 beta^3 D (d/2) a length of circumference."""
    expected = 2.0 * np.pi * RADIUS * BETA**3 * STIFFNESS * 2e-5
    assert joined(2e-5).fields.contact_force[0, 0] == pytest.approx(expected, rel=0.02)


def test_the_largest_bending_stress_is_the_one_the_edge_force_makes(joined):
    """M = (Q0/beta) exp(-beta z) sin(beta z), largest at beta z = pi/4; 6 M/t2 at the faces."""
    tube = joined(2e-5)
    nodal = tube.at_lattice(tube.fields.total)[: STRIPS + 1, [0, -1], 1]
    expected = 6.0 / WALL**2 * BETA**2 * STIFFNESS * 2e-5 * np.exp(-np.pi / 4) * np.sin(np.pi / 4)
    assert 0.5 * np.abs(nodal[:, 0] - nodal[:, 1]).max() == pytest.approx(expected, rel=0.02)


def test_a_gap_that_heat_overcomes_presses_with_what_is_left(joined):
    """The rim touches: alpha dT r less the gap, 23.6e-6 x 50 K x 50.5 mm - 40 um = 19.6 um."""
    left = 23.6e-6 * 50.0 * (RADIUS + 0.5 * WALL) - 4e-5
    warmed = joined(-4e-5, warmed=50.0).fields
    assert warmed.contact_force[0, 0] == pytest.approx(
        2.0 * np.pi * RADIUS * BETA**3 * STIFFNESS * left, rel=0.02
    )
    assert not warmed.assembled_contact.any()
    assert not warmed.primary.any()
