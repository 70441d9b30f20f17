"""Where slab or backing would meet the air outside: by node, edge, face, cell, joint and heating."""

import numpy as np

from optitip.geometry.topology import Zone

LINING = (Zone.SLAB, Zone.BACKING)
INSIDE = ("sample", "backing")
NEAREST = 0.5  # of the wall's thickness: nearer to the outline than this nothing of the lining may be


def cell_edges(cells):
    """Return the sides (n, 2) of cells, each once."""
    both = np.stack([cells, np.roll(cells, -1, axis=1)], axis=-1).reshape(-1, 2)
    return np.unique(np.sort(both, axis=1), axis=0)


def distances(points, line):
    """Return the distance of points (n, 2) to the nearest piece of a broken line (k, 2)."""
    start, step = line[:-1], np.diff(line, axis=0)
    square = np.maximum((step**2).sum(axis=1), 1e-30)
    to = points[:, None] - start
    share = np.clip((to * step).sum(axis=2) / square, 0.0, 1.0)
    return np.sqrt(((to - share[..., None] * step) ** 2).sum(axis=2).min(axis=1))


def touches(mesh, *, outline, wall, exposed):
    """Yield what of the lining meets the stream: the rules that are broken, in order.

    wall: [m] the thinnest wall beside the pocket. exposed: the nodes that a heating or a sink acts on.
    """
    lined = np.isin(mesh.cell_zone, LINING)
    own = np.unique(mesh.cells[lined])
    yield from _on_a_side(mesh, own)
    yield from _in_cells(mesh, own, lined)
    yield from _by_joints(mesh, own)
    yield from _near(mesh, own, lined, outline=outline, wall=wall)
    if np.isin(exposed, own).any():
        yield "the heating acts on a node of the lining"


def _on_a_side(mesh, own):
    sides = {"outline": mesh.outer_edges, "aft face": mesh.aft_edges, "cavity's wall": mesh.inner_edges}
    for name, edges in sides.items():
        if np.isin(edges, own).any():
            yield f"a node of the lining is one of the {name}"
    if np.isin(mesh.rows, own).any():
        yield "a node of the lining stands in a row of the shell"


def _in_cells(mesh, own, lined):
    outer = {tuple(sorted(edge)) for edge in mesh.outer_edges.tolist()}
    if outer & {tuple(sorted(edge)) for edge in cell_edges(mesh.cells[lined]).tolist()}:
        yield "a face of the lining lies in the outline"
    if np.isin(mesh.cells[lined], mesh.outer_edges).any():
        yield "a cell of the lining holds a node of the outline"
    if np.isin(mesh.cells[~lined], own).any():
        yield "a cell of the shell holds a node of the lining"


def _by_joints(mesh, own):
    for joint in mesh.joints:
        pairs = np.stack([joint.first, joint.second])
        if np.isin(pairs, own).any() != (joint.name in INSIDE):
            yield f"the joint {joint.name} joins the lining with the rest"
        if joint.name in INSIDE and np.isin(pairs, mesh.outer).any():
            yield "the lining is joined to a node of the outline"


def _near(mesh, own, lined, *, outline, wall):
    edges = cell_edges(mesh.cells[lined])
    middles = mesh.points[edges].mean(axis=1)
    low, high = mesh.points[own, 1].min() - wall, mesh.points[own, 1].max() + wall
    first, last = np.searchsorted(outline.axial, [low, high])  # what is further off is no nearer than a wall
    beside = slice(max(first - 1, 0), last + 1)
    line = np.stack([outline.radius, outline.axial], axis=1)[beside]
    for name, points in (("node", mesh.points[own]), ("edge", middles)):
        if distances(points, line).min() < NEAREST * wall:
            yield f"a lining's {name} is nearer to the outline than half its wall"
        radius = np.interp(points[:, 1], outline.axial, outline.radius)
        if np.any(points[:, 0] >= radius) or np.any(points[:, 1] >= outline.turned_length):
            yield f"a lining's {name} lies outside"
