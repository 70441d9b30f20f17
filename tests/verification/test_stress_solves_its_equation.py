"""The stress solve solves elasticity: patch tests, orders, absolute size of loads, and another assembler.

Orders: the movement of quadratic cells converges with the third power of the cell, and so does the stress
at their reduced points.
"""

import numpy as np
import pytest
from skfem import Basis, BilinearForm, ElementQuad2, ElementVector, LinearForm, MeshQuad2
from skfem.helpers import ddot, eye, grad, sym_grad, trace

from optitip.errors import DesignFailure, Outcome
from optitip.solvers.elastic import Restraint
from optitip.solvers.elastic_joints import JointFit, Spigot
from optitip.solvers.elastic_shape import REDUCED

# Lattice place of the nodes of a quadrilateral as other texts order them: corners, sides, centre.
CORNERS_SIDES_CENTRE = np.array([0, 6, 8, 2, 3, 7, 5, 1, 4])


def solid_ball(strips, across):
    angle = np.linspace(0.0, 0.5 * np.pi, strips + 1)[:, None]
    share = np.linspace(0.0, 1.0, across + 1)[None, :]
    outline = np.concatenate((np.sin(angle), -np.cos(angle)), axis=1)
    axis = np.concatenate((0.0 * angle, -np.cos(angle)), axis=1)
    lattice = 0.03 * (outline[:, None] + share[..., None] * (axis - outline)[:, None])
    lattice[:, -1, 0] = 0.0
    lattice[0] = lattice[0, 0]
    lattice[-1, :, 1] = 0.0
    return lattice


def hollow_tip(*, joint):
    """Return a blunt solid tip on a hollow band: apex, axis, face and cavity wall."""
    axial = np.concatenate((np.linspace(0.0, 0.02, 9), np.full(4, 0.02), np.linspace(0.02, 0.05, 9)[1:]))
    arc = np.concatenate((np.linspace(0.0, 0.012, 9), np.linspace(0.012, 0.018, 5)[1:]))
    outline_z = np.concatenate((arc, np.linspace(0.018, 0.05, 9)[1:]))
    outline = np.stack((0.02 * np.sqrt(outline_z / 0.05), outline_z), axis=-1)
    opening = np.concatenate((np.zeros(9), np.linspace(0.0, outline[12, 0] - 0.003, 5)[1:]))
    inner = np.stack((np.concatenate((opening, outline[13:, 0] - 0.003)), axial), axis=-1)
    share = np.linspace(0.0, 1.0, 5)[None, :, None]
    lattice = outline[:, None] + share * (inner - outline)[:, None]
    strip_zone = np.array([0] * 8 + [1] * 12)
    if joint:
        lattice = np.insert(lattice, 9, lattice[8], axis=0)
        strip_zone = np.insert(strip_zone, 8, -1)
    return lattice, strip_zone


@pytest.mark.parametrize("size", [(4, 2), (8, 4)])
def test_a_ball_under_outside_pressure_has_the_same_pressure_everywhere(solve_lattice, elastic, size):
    ball = solve_lattice(solid_ball(*size), elastic=elastic(), outline_pressure=10e6, apex=True)
    expected = np.broadcast_to([-10e6, -10e6, -10e6, 0.0], ball.fields.primary.shape)
    np.testing.assert_allclose(ball.fields.primary, expected, atol=10.0)


def test_a_free_tip_warmed_evenly_grows_without_stress(solve_lattice, elastic):
    lattice, strip_zone = hollow_tip(joint=False)
    material = elastic(
        np.array([80e9, 70e9, 40e9]),
        expansion=np.array([21e-6, 23e-6, 27e-6]),
        temperature=(200.0, 300.0, 600.0),
    )
    tip = solve_lattice(
        lattice,
        elastic=material,
        restraint=Restraint.FREE,
        temperature=np.full(lattice.shape[:2], 450.0),
        start=260.0,
        strip_zone=strip_zone,
        apex=True,
    )
    # alpha(450) = 25e-6 and alpha(260) = 22.2e-6, both secants from 293.15 K
    strain = 25e-6 * (450.0 - 293.15) - 22.2e-6 * (260.0 - 293.15)
    assert np.abs(tip.fields.total).max() < 1e-9 * 55e9 * strain
    moved = tip.fields.total_movement[0][tip.cells.rows]
    np.testing.assert_allclose(moved, strain * (tip.points - [0.0, 0.05]), atol=1e-12)


def test_the_two_sides_of_a_joint_move_as_one_and_keep_their_own_temperature(solve_lattice, elastic):
    lattice, strip_zone = hollow_tip(joint=True)
    heat = np.full(lattice.shape[:2], 400.0)
    heat[9:] = 300.0
    tip = solve_lattice(
        lattice, elastic=(elastic(), elastic()), temperature=heat, strip_zone=strip_zone, apex=True
    )
    moved = tip.fields.total_movement[0][tip.cells.rows]
    np.testing.assert_array_equal(moved[8], moved[9])
    hoop = tip.at_lattice(tip.fields.total)[8:10, 0, 2]
    assert hoop[0] < -10e6 < 10e6 < hoop[1]


def lame_hoop(radius):
    return 10e6 * 0.02**2 / (0.04**2 - 0.02**2) * (1.0 + 0.04**2 / radius**2)


@pytest.mark.parametrize("quantity", ["movement", "stress"])
def test_thick_tube_errors_fall_with_the_third_power_of_the_cell(
    solve_lattice, elastic, tube_lattice, quantity
):
    errors = []
    for across in (8, 16, 32):
        tube = solve_lattice(
            tube_lattice(0.02, 0.04, length=0.01, strips=2, across=across),
            elastic=elastic(),
            restraint=Restraint.BOTH_FACES,
            inner_pressure=10e6,
        )
        radius = tube.points[..., 0].ravel()[tube.cells.nodes]
        if quantity == "stress":
            exact, found = lame_hoop(radius @ REDUCED.T), tube.fields.primary[0, ..., 2]
        else:
            E, nu = 70e9, 0.33
            exact = (1 + nu) / E * 10e6 / 3.0 * ((1 - 2 * nu) * radius + 0.04**2 / radius)
            found = tube.fields.primary_movement[0, tube.cells.nodes, 0]
        errors.append(np.sqrt(np.mean((found - exact) ** 2)) / np.abs(exact).max())
    orders = np.log2(np.array(errors[:-1]) / np.array(errors[1:]))
    assert np.all(orders > 2.8), (errors, orders)
    assert errors[-1] < 1e-4


def test_a_tube_pushed_fore_carries_the_weight_of_what_is_ahead(solve_lattice, elastic, tube_lattice):
    lattice = tube_lattice(0.02, 0.025, length=0.1, strips=8, across=2)
    tube = solve_lattice(lattice, elastic=elastic(poisson=0.0), acceleration=500.0, density=2700.0)
    z = lattice[..., 1].ravel()[tube.cells.nodes] @ REDUCED.T
    np.testing.assert_allclose(tube.fields.primary[0, ..., 1], -2700.0 * 500.0 * z, rtol=1e-9)


def test_pressure_on_a_blunt_tip_is_carried_by_the_section_behind_it(solve_lattice, elastic):
    lattice, strip_zone = hollow_tip(joint=False)
    tip = solve_lattice(lattice, elastic=elastic(), outline_pressure=200e3, strip_zone=strip_zone, apex=True)
    # the last block row stands between two planes; its mean axial stress follows from pi r^2 alone
    block = tip.cells.nodes[-tip.cells.columns :]
    points = lattice.reshape(-1, 2)[block]
    radius = points[..., 0] @ REDUCED.T
    width = np.abs(points[:, 0, 0] - points[:, 2, 0])
    stress = tip.fields.primary[0, -tip.cells.columns :, :, 1]
    for side in (slice(0, 2), slice(2, 4)):
        force = (2 * np.pi * radius[:, side] * stress[:, side] * width[:, None] / 2).sum()
        place = np.interp(np.array([-1, 1])[side.start // 2] / np.sqrt(3), [-1, 1], [0.0, 1.0])
        outline_r = np.interp(place, [0.0, 1.0], points[0, [0, 6], 0])
        assert force == pytest.approx(-200e3 * np.pi * outline_r**2, rel=0.02)


def test_a_folded_mesh_is_an_outcome(solve_lattice, elastic, tube_lattice):
    lattice = tube_lattice(0.02, 0.04, length=0.01, strips=4, across=2)[::-1]
    with pytest.raises(DesignFailure) as failure:
        solve_lattice(lattice, elastic=elastic())
    assert failure.value.outcome is Outcome.MESH_FOLDED


UNLIKE = {
    "fore": {"modulus": np.array([75e9, 45e9]), "expansion": np.array([22e-6, 26e-6])},
    "aft": {"modulus": np.array([200e9, 150e9]), "poisson": 0.29, "expansion": 12e-6},
}


@pytest.mark.parametrize("joint", [False, True])
def test_movement_and_stress_are_those_of_another_assembler(solve_lattice, elastic, joint):
    lattice, strip_zone = hollow_tip(joint=joint)
    tip, heat, materials = unlike_parts(solve_lattice, elastic, lattice=lattice, strip_zone=strip_zone)
    stiffness, forces = other_assembler(tip, heat=heat, materials=materials)
    free = free_movements(tip)
    moved_apart = np.zeros((2, len(stiffness)))
    moved_apart[:, free] = np.linalg.solve(stiffness[np.ix_(free, free)], forces[:, free].T).T
    moved_apart = moved_apart.reshape(2, -1, 2)
    for ours, theirs in (
        (tip.fields.primary_movement, moved_apart[0]),
        (tip.fields.total_movement, moved_apart[1]),
    ):
        shell = ours[0][tip.cells.rows]
        assert np.abs(shell - theirs[tip.cells.moving_of[tip.cells.rows]]).max() < 1e-10 * np.abs(shell).max()


@pytest.mark.parametrize("spigot", list(Spigot))
@pytest.mark.parametrize("offset", [2e-5, 5e-6, -5e-6, -1e-5, -1e-3])
def test_a_fitted_joint_balances_on_another_assemblers_matrix(solve_lattice, elastic, offset, spigot):
    """What the other's equations leave over is contact alone: equal, opposite, pressing, where no gap is."""
    tip, heat, materials = unlike_parts(
        solve_lattice, elastic, **hollow_tip_of_two(), fits={0: JointFit(offset=offset, spigot=spigot)}
    )
    stiffness, forces = other_assembler(tip, heat=heat, materials=materials)
    free, rows = free_movements(tip), tip.cells.rows[tip.cells.joints[0]]
    inside, around = 2 * tip.cells.moving_of[rows[:: -1 if spigot is Spigot.AFT else 1]]
    moved = np.zeros((2, len(stiffness)))
    for case, field in enumerate((tip.fields.primary_movement, tip.fields.total_movement)):
        moved[case].reshape(-1, 2)[tip.cells.moving_of[tip.cells.rows]] = field[0][tip.cells.rows]
    left = moved @ stiffness - forces
    scale = 1e-9 * np.abs(forces).max()
    assert np.abs(left[:, np.setdiff1d(free, np.concatenate((inside, around)))]).max() < scale
    np.testing.assert_allclose(left[:, inside], -left[:, around], atol=scale)
    pressing, gap = left[1, around], moved[1, around] - moved[1, inside] - offset
    assert pressing.min() > -scale
    assert gap.min() > -1e-9 * abs(offset)
    assert np.all((pressing < scale) | (gap < 1e-9 * abs(offset)))
    assert np.abs(left[0, around][pressing < scale]).max(initial=0.0) < scale
    assert tip.fields.contact_force[0, 0] == pytest.approx(pressing.sum(), rel=1e-8, abs=scale)


def hollow_tip_of_two():
    """Return the blunt tip with its joint across the band, where both sides are rings."""
    lattice, strip_zone = hollow_tip(joint=False)
    return {
        "lattice": np.insert(lattice, 17, lattice[16], axis=0),
        "strip_zone": np.insert(strip_zone, 16, -1),
    }


def unlike_parts(solve_lattice, elastic, *, lattice, strip_zone, fits=None):
    """Return a tip of two metals under all loads and an uneven heat, that heat, and the metals."""
    materials = tuple(elastic(temperature=(250.0, 650.0), **UNLIKE[part]) for part in ("fore", "aft"))
    heat = 320.0 + 4000.0 * lattice[..., 1] * (lattice[..., 1] < 0.03) + 3e5 * lattice[..., 0] ** 2
    tip = solve_lattice(
        lattice,
        elastic=materials,
        temperature=heat,
        start=295.0,
        outline_pressure=150e3 + 1e6 * lattice[None, :, 0, 1],
        inner_pressure=40e3,
        acceleration=300.0,
        strip_zone=strip_zone,
        apex=True,
        fits=fits,
    )
    return tip, heat, materials


def other_assembler(tip, *, heat, materials):
    """Return the stiffness and the two cases' forces by scikit-fem on cells apart, tied by a 0-1 matrix."""
    cells = tip.cells
    corners = tip.points.reshape(-1, 2)[cells.nodes][:, CORNERS_SIDES_CENTRE]
    mesh = MeshQuad2(corners.reshape(-1, 2).T.copy(), np.arange(corners.shape[0] * 9).reshape(-1, 9).T.copy())
    basis = Basis(mesh, ElementVector(ElementQuad2()), intorder=5)
    scalar = basis.with_element(ElementQuad2())
    tie, hot = lattice_of(basis, tip), np.zeros(scalar.N)
    hot[scalar.element_dofs] = local_heat(scalar, tip, heat)
    T = scalar.interpolate(hot)
    index = tip.body.cell_material
    E, nu = (np.zeros_like(np.asarray(T)) for _ in range(2))
    strain = np.zeros_like(E)
    for number, one in enumerate(materials):
        inside = index == number
        E[inside], nu[inside] = one.modulus_at(np.asarray(T)[inside]), one.poisson
        grown = [one.expansion_at(t) * (t - 293.15) for t in (np.asarray(T)[inside], np.array(295.0))]
        strain[inside] = grown[0] - grown[1]
    lam, mu = E * nu / (1 + nu) / (1 - 2 * nu), E / 2 / (1 + nu)

    def stiffness(u, v, w):
        r = w.x[0]
        eu, ev = sym_grad(u), sym_grad(v)
        tu, tv = trace(eu) + u[0] / r, trace(ev) + v[0] / r
        return 2 * np.pi * r * (lam * tu * tv + 2 * mu * (ddot(eu, ev) + u[0] * v[0] / r**2))

    def thermal(v, w):
        r = w.x[0]
        return 2 * np.pi * r * (3 * lam + 2 * mu) * strain * (ddot(eye(1 + 0 * r, 2), grad(v)) + v[0] / r)

    def inertia(v, w):
        return 2 * np.pi * w.x[0] * 2700.0 * 300.0 * v[1]

    K = tie.T @ BilinearForm(stiffness).assemble(basis).toarray() @ tie
    f_thermal, f_inertia = (tie.T @ LinearForm(form).assemble(basis) for form in (thermal, inertia))
    primary = f_inertia + face_pressure(tip)
    return K, np.stack((primary, primary + f_thermal))


def lattice_place(locations, points):
    """Return which of a cell's nine nodes (m, 9, 2) stands at each location (m, n, 2)."""
    return np.linalg.norm(locations[:, :, None] - points[:, None], axis=-1).argmin(axis=-1)


def lattice_of(basis, tip):
    points = tip.points.reshape(-1, 2)[tip.cells.nodes]
    place = lattice_place(basis.doflocs[:, basis.element_dofs].transpose(2, 1, 0), points)
    moving = np.take_along_axis(tip.cells.moving, place, axis=1)
    component = np.arange(18) % 2
    tie = np.zeros((basis.N, 2 * tip.cells.moving_count))
    shared = np.where(component == 1, tip.cells.axial_of[moving], moving)
    tie[basis.element_dofs.T, 2 * shared + component] = 1.0
    return tie


def local_heat(scalar, tip, heat):
    points = tip.points.reshape(-1, 2)[tip.cells.nodes]
    place = lattice_place(scalar.doflocs[:, scalar.element_dofs].transpose(2, 1, 0), points)
    return heat.ravel()[np.take_along_axis(tip.cells.nodes, place, axis=1)].T


def free_movements(tip):
    rows = tip.cells.rows
    on_axis = tip.cells.moving_of[rows[tip.points[..., 0] == 0.0]]
    held = np.concatenate((2 * on_axis, 2 * tip.cells.moving_of[rows[-1]] + 1))
    unused = 2 * np.flatnonzero(tip.cells.axial_of != np.arange(tip.cells.moving_count)) + 1
    return np.setdiff1d(np.arange(2 * tip.cells.moving_count), np.concatenate((held, unused)))


def face_pressure(tip):
    """Return nodal forces of the face pressures, each edge by 10 Gauss points on its own parabola."""
    force = np.zeros(2 * tip.cells.moving_count)
    x, weight = np.polynomial.legendre.leggauss(10)
    shape = np.stack((x * (x - 1) / 2, 1 - x**2, x * (x + 1) / 2))
    slope = np.stack((x - 0.5, -2 * x, x + 0.5))
    for column, sign, pressure in (
        (0, 1.0, tip.loads.outline_pressure),
        (-1, -1.0, tip.loads.inner_pressure),
    ):
        for start in tip.cells.fore_row:
            edge = slice(start, start + 3)
            points = tip.points[edge, column]
            (r, _), (dr, dz) = points.T @ shape, points.T @ slope
            push = sign * 2 * np.pi * r * weight * (pressure[0, edge] @ shape)
            moving = tip.cells.moving_of[tip.cells.rows[edge, column]]
            np.add.at(force, 2 * moving, shape @ (-push * dz))
            np.add.at(force, 2 * tip.cells.axial_of[moving] + 1, shape @ (push * dr))
    return force
