"""The pocket behind the slab as the march takes it: its faces, its air, and where vapour condenses."""

import numpy as np

from optitip.arrays import FloatArray
from optitip.evaluate.building import Tip
from optitip.evaluate.parts import PocketFaces
from optitip.geometry.sides import edge_areas, row_edges
from optitip.solvers.body import ColdSide, Enclosure

_AIR = 1.2 * 1005.0  # [J/(m3 K)] density by specific heat at the ground
_LEAST_AIR = 1e-7  # [m3] so that a pocket all but filled still has a temperature


def enclosure_of(tip: Tip, *, filled: float, emissivity: FloatArray) -> Enclosure:
    """Return the pocket: bare walls, the lining's back, and between strips the wall they leave bare.

    filled: the share of the circumference that slab and backing take. emissivity: ``(n_nodes,)``.
    """
    points, faces = tip.mesh.points, tip.parts.pocket
    area = edge_areas(points, faces.bare) + filled * edge_areas(points, faces.back)
    sides = [faces.bare, faces.back]
    if tip.share < 1.0:
        area += (1.0 - filled) * edge_areas(points, faces.covered)
        sides.append(faces.covered)
    nodes = np.unique(np.concatenate(sides))
    return Enclosure(
        nodes=nodes,
        area=area[nodes],
        film=tip.tables.sample.pocket.film,
        emissivity=emissivity[nodes],
        heat_capacity=_AIR * max(_volume(tip, faces, filled=filled), _LEAST_AIR),
    )


def cold_side_of(tip: Tip, *, filled: float) -> ColdSide:
    """Return the slab's back, on which its vapour may condense; none where a backing covers it."""
    if tip.mesh.backing_rows.size:
        return ColdSide(nodes=np.empty(0, dtype=np.int64), area=np.empty(0))
    nodes = tip.mesh.slab_rows[:, -1]
    return ColdSide(nodes=nodes, area=filled * edge_areas(tip.mesh.points, row_edges(nodes))[nodes])


def _volume(tip: Tip, faces: PocketFaces, *, filled: float) -> float:
    """Return the air's volume [m3]: inside the cavity's wall, less slab and backing."""
    edges = np.concatenate([faces.bare, faces.covered])
    (r_fore, z_fore), (r_aft, z_aft) = (tip.mesh.points[edges[:, end]].T for end in (0, 1))
    cavity = np.pi / 3.0 * ((z_aft - z_fore) * (r_fore**2 + r_fore * r_aft + r_aft**2)).sum()
    inside = np.concatenate([tip.cells_of("slab"), tip.cells_of("backing")])
    return float(cavity - filled * tip.cell_volume[inside].sum())
