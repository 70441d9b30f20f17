"""Random designs of every family: each one the checks let through has a sound mesh of the right size."""

import dataclasses
import itertools

import numpy as np
import pytest

from optitip.errors import DesignFailure, UserMistakes
from optitip.geometry.assembly import Fittings, put_together
from optitip.geometry.chain import build_cavity
from optitip.geometry.mesh import build_mesh
from optitip.geometry.outline import family_outline
from optitip.geometry.shell import part_volumes
from optitip.geometry.sides import cell_volumes, edge_areas, row_edges
from optitip.geometry.tip import TipDesign
from optitip.geometry.topology import Resolution, Zone
from optitip.inputs.study_tables import OutlineFamily
from optitip.solvers import banded
from optitip.solvers.assembly import assemble
from optitip.solvers.body import HeatBody
from optitip.solvers.reference import reference_conduction


def random_outline(draw):
    family = list(OutlineFamily)[draw.integers(len(OutlineFamily))]
    diameter = draw.uniform(0.03, 0.15)
    length = diameter * draw.uniform(1.5, 6)
    exponents = {OutlineFamily.POWER: draw.uniform(0.5, 1), OutlineFamily.PARABOLA: draw.uniform(0, 1)}
    own = family is OutlineFamily.ELLIPSE and draw.random() < 0.5
    return family_outline(
        family,
        diameter=diameter,
        length=length,
        turned_length=length * draw.uniform(0.3, 0.8),
        tip_radius=None if own else diameter * draw.uniform(0.01, 0.15),
        exponent=exponents.get(family),
    )


def random_design(draw, outline):
    length, radius = outline.turned_length, outline.radius[-1]
    band, plug = length * draw.uniform(0.1, 0.5), length * draw.uniform(0.08, 0.5)
    offset = band * draw.uniform(0, 0.4) * (draw.random() > 0.2)
    solid, lined = draw.random() < 0.5, draw.random() > 0.1
    thickness = draw.uniform(5e-4, max(0.15 * radius, 6e-4))
    return TipDesign(
        plug_length=plug,
        plug_wall=draw.uniform(5e-4, 0.4 * radius),
        plug_fillet=draw.uniform(2e-4, 3e-3) * (draw.random() > 0.1),
        plug_insert=plug * draw.uniform(0.1, 1) if draw.random() > 0.6 else None,
        fore_taper=length * draw.uniform(0.01, 0.2),
        band_length=band,
        thickness_fore=thickness,
        thickness_aft=thickness * draw.uniform(0.5, 2),
        aft_taper=length * draw.uniform(0.005, 0.2),
        base_thickness=None if solid else radius * draw.uniform(0.03, 0.5),
        base_bore=radius * draw.uniform(0.05, 0.9) if solid and draw.random() > 0.5 else None,
        base_separate=bool(draw.random() > 0.4),
        pocket_offset=offset,
        pocket_length=(band - offset) * (draw.uniform(0.3, 1) if draw.random() > 0.2 else 1),
        slab_thickness=draw.uniform(5e-4, 0.3 * radius) if lined else None,
        slab_soft=bool(draw.random() > 0.3),
        slab_share=draw.uniform(0.05, 1),
        backing_thickness=draw.uniform(3e-4, 3e-3) if lined and draw.random() > 0.5 else None,
    )


def random_cavities(seed):
    """Yield buildable cavities without end, six draws on each outline."""
    draw = np.random.default_rng(seed)
    while True:
        try:
            outline = random_outline(draw)
        except UserMistakes:
            continue
        for _ in range(6):
            design = random_design(draw, outline)
            try:
                cavity = build_cavity(design, outline=outline)
                put_together(cavity, fittings=Fittings())
            except DesignFailure:
                continue
            yield cavity


@pytest.fixture(scope="module")
def tips():
    # a DesignFailure of a mesh is not caught: a buildable design that folds is red
    return [(cavity, build_mesh(cavity)) for cavity in itertools.islice(random_cavities(11), 2000)]


def test_every_buildable_design_has_a_mesh_without_a_folded_cell(tips):
    families = {cavity.outline.diameter for cavity, _ in tips}
    assert len(families) > 300
    worst = np.array([mesh.smallest_jacobian for _, mesh in tips])
    # measured on 3,000 of another seed: smallest 0.017, one in a hundred below 0.077
    assert worst.min() > 0.01
    assert np.quantile(worst, 0.01) > 0.05


def test_the_shells_cells_fill_the_exact_half_section(tips):
    error = []
    for cavity, mesh in tips:
        parts = part_volumes(cavity)
        volumes = cell_volumes(mesh.points, mesh.cells)
        assert volumes.min() > 0
        shell = volumes[mesh.cell_zone < Zone.SLAB].sum()
        error.append(shell / (parts.insert + parts.shell + parts.base) - 1)
    assert np.max(np.abs(error)) < 3e-3
    assert np.mean(np.abs(error)) < 1e-3


def test_each_parts_cells_fill_the_part(tips):
    error = []
    for cavity, mesh in tips:
        parts = part_volumes(cavity)
        volumes = cell_volumes(mesh.points, mesh.cells)
        if parts.insert:
            error.append(volumes[mesh.cell_zone == Zone.NOSE].sum() / parts.insert - 1)
        if parts.base:
            of_base = np.isin(mesh.cell_zone, [Zone.BASE_FACE, Zone.BASE])
            error.append(volumes[of_base].sum() / parts.base - 1)
    assert len(error) > 1000
    assert np.max(np.abs(error)) < 1e-2
    assert np.mean(np.abs(error)) < 1e-3


def test_the_volume_converges_with_the_square_of_the_cell(tips):
    errors = []
    for factor in (1, 2, 4):
        resolution = Resolution().refined(factor)
        error = 0.0
        for cavity, _ in tips[:40]:
            parts = part_volumes(cavity)
            mesh = build_mesh(cavity, resolution=resolution)
            shell = cell_volumes(mesh.points, mesh.cells)[mesh.cell_zone < Zone.SLAB].sum()
            error += abs(shell / (parts.insert + parts.shell + parts.base) - 1)
        errors.append(error)
    orders = np.log2(np.array(errors[:-1]) / errors[1:])
    assert orders == pytest.approx([2, 2], abs=0.2)


def test_the_half_bandwidth_is_that_of_the_numbering(tips):
    for _, mesh in tips:
        apart = np.ptp(mesh.cells, axis=1).max()
        across = max((np.abs(joint.second - joint.first).max() for joint in mesh.joints), default=0)
        assert mesh.half_bandwidth == max(apart, across)
        assert mesh.half_bandwidth <= (24 if mesh.backing_rows.size else 21)


def boundary_edges(mesh):
    """Return the edges (n, 2), smaller node first, that belong to one cell; none may belong to three."""
    edges = np.sort(mesh.cells[:, [[0, 1], [1, 2], [2, 3], [3, 0]]].reshape(-1, 2), axis=1)
    edges = edges[edges[:, 0] != edges[:, 1]]
    unique, count = np.unique(edges, axis=0, return_counts=True)
    assert count.max() == 2
    return {tuple(edge) for edge in unique[count == 1].tolist()}


def chain(nodes):
    return {tuple(sorted(pair)) for pair in itertools.pairwise(nodes.tolist()) if pair[0] != pair[1]}


def test_the_mesh_conforms_and_its_sides_are_all_named(tips):
    for _, mesh in tips[:400]:
        sides = [mesh.outer_edges, mesh.inner_edges, mesh.aft_edges]
        named = {tuple(sorted(edge)) for side in sides for edge in side.tolist()}
        for joint in mesh.joints:
            named |= chain(joint.first) | chain(joint.second)
        for lining in (mesh.slab_rows, mesh.backing_rows):
            if lining.size:
                named |= chain(lining[0]) | chain(lining[-1]) | chain(lining[:, 0]) | chain(lining[:, -1])
        left = np.array(sorted(boundary_edges(mesh) - named))
        assert named <= boundary_edges(mesh)
        # what is left is the axis, from the apex to the fore face and through a closed base
        assert np.all(mesh.points[left, 0] == 0)


def test_the_sample_never_meets_the_airstream(tips):
    for cavity, mesh in tips:
        if not mesh.slab_rows.size:
            continue
        lining = np.concatenate([mesh.slab_rows.ravel(), mesh.backing_rows.ravel()])
        assert not np.intersect1d(lining, mesh.outer_edges).size
        r, z = mesh.points[lining].T
        outside = cavity.outline.at(cavity.outline.arc_length_of(z))[1]
        assert np.all(r < outside - 2e-4)
        assert np.all(z < cavity.outline.turned_length + 1e-6)


def test_a_designs_number_moves_the_nodes_smoothly(tips):
    """A search needs no jump: a wall thicker by a micrometre moves no node by more than a few."""
    for cavity, mesh in tips[:200]:
        thickness = cavity.design.thickness_fore + 1e-6
        nudged = dataclasses.replace(cavity.design, thickness_fore=thickness)
        try:
            moved = build_mesh(build_cavity(nudged, outline=cavity.outline))
        except DesignFailure:
            continue
        assert np.max(np.abs(moved.points - mesh.points)) < 3e-5


@pytest.mark.long
def test_ten_thousand_buildable_designs_have_a_mesh():
    worst = [build_mesh(cavity).smallest_jacobian for cavity in itertools.islice(random_cavities(7), 10_000)]
    assert min(worst) > 0.005


def corner_by_corner(points, cell):
    """Return the sine of a cell's worst corner, from the angle between the two edges that meet there."""
    corners = points[list(dict.fromkeys(cell.tolist()))]
    after, before = np.roll(corners, -1, axis=0) - corners, corners - np.roll(corners, 1, axis=0)
    turn = np.arctan2(after[:, 1], after[:, 0]) - np.arctan2(before[:, 1], before[:, 0])
    return np.sin(turn).min()


def test_the_worst_corner_is_the_one_that_plane_angles_give(tips):
    for _, mesh in tips[::40]:
        worst = min(corner_by_corner(mesh.points, cell) for cell in mesh.cells)
        assert mesh.smallest_jacobian == pytest.approx(worst, rel=1e-9)


def test_a_joints_areas_are_those_of_its_edges(tips):
    for _, mesh in tips[::10]:
        for joint in mesh.joints:
            edges = edge_areas(mesh.points, row_edges(joint.first))
            assert joint.area == pytest.approx(edges[joint.first], rel=1e-12)


def test_the_fast_assembly_is_the_one_of_record_on_random_tips(tips, solid):
    random = np.random.default_rng(5)
    for _, mesh in tips[::40]:
        cells = len(mesh.cells)
        body = HeatBody(
            points=mesh.points,
            cells=mesh.cells,
            cell_material=np.zeros(cells, dtype=int),
            cell_weight=random.uniform(0.1, 1.0, cells),
            materials=(solid(20.0, heat_capacity=2e6),),
        )
        model = assemble(body)
        stiffness, volume = reference_conduction(body, conductivity=np.full(cells, 20.0))
        assert model.volume == pytest.approx(volume, rel=1e-11)
        profile = random.standard_normal(len(mesh.points))
        heat = stiffness @ profile
        assert banded.multiply(model.stiffness, profile) == pytest.approx(
            heat, abs=1e-11 * np.abs(heat).max()
        )
