import numpy as np
import pytest

from optitip.solvers.elastic_places import judged_places, sharp_cuts, solid_blocks


def in_three(*ends, steps=4):
    """Return values with ``steps`` even steps between each two of four ends."""
    return np.interp(np.arange(3 * steps + 1), steps * np.arange(4), ends)


def stepped_tube(tube_lattice, *, steps=4):
    """Return a tube whose bore narrows from 20 to 17 mm radius at once, 4 mm from its fore end."""
    lattice = tube_lattice(0.02, 0.03, length=0.008, strips=3 * steps, across=2).copy()
    lattice[:, 0, 1] = 1e-3 * in_three(0.0, 5.0, 6.5, 8.0, steps=steps)
    lattice[:, 2, 1] = 1e-3 * in_three(0.0, 4.0, 4.0, 8.0, steps=steps)
    lattice[:, 2, 0] = 1e-3 * in_three(20.0, 20.0, 17.0, 17.0, steps=steps)
    lattice[:, 1] = 0.5 * (lattice[:, 0] + lattice[:, 2])
    return lattice


def inner_ends(places, shell):
    return places.between_rows(shell.points[:, -1])


def places_of(shell, **how):
    material = np.zeros(len(shell.cells.fore_row), dtype=np.int64)
    return judged_places(shell.points.reshape(-1, 2), cells=shell.cells, material=material, **how)


@pytest.fixture
def stepped(solve_lattice, elastic, tube_lattice):
    return solve_lattice(stepped_tube(tube_lattice), elastic=elastic())


def test_only_a_cut_into_the_metal_counts_as_sharp(stepped):
    np.testing.assert_allclose(
        sharp_cuts(stepped.points.reshape(-1, 2), cells=stepped.cells), [[0.02, 0.004]]
    )


def test_a_smooth_bore_has_no_sharp_cut(solve_lattice, elastic, tube_lattice):
    tube = solve_lattice(tube_lattice(0.02, 0.03, length=0.04, strips=8, across=4), elastic=elastic())
    assert not len(sharp_cuts(tube.points.reshape(-1, 2), cells=tube.cells))
    assert len(places_of(tube).block) == 4 * 3


@pytest.mark.parametrize("steps", [4, 6, 14])
def test_the_nearest_places_stand_at_the_clear_distance_on_any_grid(
    solve_lattice, elastic, tube_lattice, steps
):
    shell = solve_lattice(stepped_tube(tube_lattice, steps=steps), elastic=elastic())
    ends = inner_ends(places_of(shell, least=0.9e-3, share=0.0), shell)
    apart = np.linalg.norm(ends - [0.02, 0.004], axis=-1)
    assert apart.min() == pytest.approx(0.9e-3)
    near = ends[np.isclose(apart, 0.9e-3)]
    np.testing.assert_allclose(near, [[0.02, 0.0031], [0.0191, 0.004]], atol=1e-12)


def test_the_clear_distance_grows_with_the_wall_at_the_cut(stepped):
    # the row at the cut runs from 20, 4 mm to 30, 5 mm
    ends = inner_ends(places_of(stepped, least=0.5e-3, share=0.1), stepped)
    apart = np.linalg.norm(ends - [0.02, 0.004], axis=-1)
    assert apart.min() == pytest.approx(0.1 * np.hypot(10e-3, 1e-3))


def joined_tube(solve_lattice, elastic, tube_lattice, **options):
    lattice = np.insert(tube_lattice(0.02, 0.03, length=0.04, strips=8, across=4), 4, np.nan, axis=0)
    lattice[4] = lattice[5]
    return solve_lattice(lattice, elastic=elastic(), strip_zone=[1] * 4 + [-1] + [2] * 4, **options)


def test_both_sides_of_a_joint_keep_clear_of_its_ends(solve_lattice, elastic, tube_lattice):
    shell = joined_tube(solve_lattice, elastic, tube_lattice)
    axial = inner_ends(places_of(shell, share=0.4), shell)[:, 1]
    beyond = axial[np.abs(axial - 0.02) < 0.0041]
    np.testing.assert_allclose(beyond, [0.016, 0.024])


def test_no_place_reads_over_a_joint_nor_over_a_cut_nor_over_a_change_of_material(
    solve_lattice, elastic, tube_lattice, stepped
):
    joined = joined_tube(solve_lattice, elastic, tube_lattice)
    near = places_of(joined, least=0.0, share=0.0)
    assert ((near.lines < 4) == (near.block < 2)[:, None]).all()
    cut = places_of(stepped, least=0.0, share=0.0)
    assert ((cut.lines < 4) == (cut.block < 2)[:, None]).all()
    plain = solve_lattice(tube_lattice(0.02, 0.03, length=0.04, strips=8, across=4), elastic=elastic())
    two = judged_places(plain.points.reshape(-1, 2), cells=plain.cells, material=np.array([0, 1, 1, 1]))
    assert ((two.lines < 2) == (two.block < 1)[:, None]).all()


def test_weights_are_one_together_and_read_a_straight_line_exactly(stepped):
    places = places_of(stepped)
    np.testing.assert_allclose(places.weight.sum(axis=1), 1.0)
    points = stepped.points[:, [0, -1]]
    arc = np.concatenate(([0.0], np.linalg.norm(np.diff(points, axis=0), axis=-1).mean(axis=1).cumsum()))
    lines = (arc[:-1:2, None] * [0.788675, 0.211325] + arc[2::2, None] * [0.211325, 0.788675]).ravel()
    read = (places.weight * lines[places.lines]).sum(axis=1)
    np.testing.assert_allclose(read, places.between_rows(arc), atol=1e-8)


def test_only_what_reaches_the_axis_is_solid(solve_lattice, elastic, tube_lattice):
    lattice = tube_lattice(0.02, 0.03, length=0.04, strips=8, across=4)
    share = np.linspace(0.0, 1.0, 5)
    lattice[:5, :, 0] = 0.03 * (1.0 - share)
    shell = solve_lattice(lattice, elastic=elastic())
    assert solid_blocks(shell.points.reshape(-1, 2), cells=shell.cells).tolist() == [True, True, False, False]
