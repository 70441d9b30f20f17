"""The pocket behind the slab as the march takes it: its faces, its air, and where vapour condenses."""

import numpy as np

from optitip.arrays import FloatArray
from optitip.evaluate.building import Tip
from optitip.geometry.sides import edge_areas, row_areas
from optitip.solvers.body import ColdSide, Enclosure

_AIR = 1.2 * 1005.0  # [J/(m3 K)] density by specific heat at the ground
_LEAST_AIR = 1e-7  # [m3] so that a pocket all but filled still has a temperature


def enclosure_of(tip: Tip, *, filled: float, emissivity: FloatArray) -> Enclosure:
    """Return the pocket: bare walls, the lining's back, and between strips the wall they leave bare.

    filled: the share of the circumference that slab and backing take. emissivity: ``(n_nodes,)``.
    """
    faces = tip.parts.pocket
    share = np.repeat([1.0, filled, 1.0 - filled if tip.share < 1.0 else 0.0], faces.sizes)
    area = edge_areas(tip.mesh.points, faces.edges, share=share)
    nodes = faces.nodes if tip.share < 1.0 else faces.open_nodes
    return Enclosure(
        nodes=nodes,
        area=area[nodes],
        film=tip.tables.sample.pocket.film,
        emissivity=emissivity[nodes],
        heat_capacity=_AIR * pocket_volume(tip, filled=filled),
    )


def cold_side_of(tip: Tip, *, filled: float) -> ColdSide:
    """Return the slab's back, on which its vapour may condense; none where a backing covers it."""
    if tip.mesh.backing_rows.size:
        return ColdSide(nodes=np.empty(0, dtype=np.int64), area=np.empty(0))
    nodes = tip.mesh.slab_rows[:, -1]
    return ColdSide(nodes=nodes, area=filled * row_areas(tip.mesh.points[nodes]))


def pocket_volume(tip: Tip, *, filled: float) -> float:
    """Return the volume of the pocket's air [m3]: inside the cavity's wall, less slab and backing."""
    faces = tip.parts.pocket
    (r_fore, z_fore), (r_aft, z_aft) = (tip.mesh.points[faces.edges[:, end]].T for end in (0, 1))
    wall = np.repeat([1.0, 0.0, 1.0], faces.sizes)
    cavity = np.pi / 3.0 * (wall @ ((z_aft - z_fore) * (r_fore**2 + r_fore * r_aft + r_aft**2)))
    return max(float(cavity - filled * tip.cell_volume[tip.parts.lined].sum()), _LEAST_AIR)
