"""The base open to the air: its aft face and its bore beside the heated side, from the apogee on."""

from dataclasses import replace

import numpy as np

from optitip.arrays import FloatArray, IntArray
from optitip.evaluate.building import Tip
from optitip.flight.trajectory import Flight
from optitip.geometry.sides import edge_areas
from optitip.geometry.topology import Zone
from optitip.heating.hollow import hollow_film
from optitip.heating.table import Heating
from optitip.inputs.study_tables import BaseAir
from optitip.solvers.body import Surface


def with_open_base(surface: Surface, *, tip: Tip, heating: Heating, flight: Flight | None) -> Surface:
    """Return the surface with the inner sides of an open base added; as it is where the base is closed.

    They meet the air at the recovery temperature of the aft-most station and neither radiate nor see the sun.
    The conductance to the rest of the nose stays: the tip comes down in its nose.
    """
    table = tip.tables.flight
    if table is None or flight is None or table.descent.base is BaseAir.CLOSED:
        return surface
    nodes, area = _inner_sides(tip)
    film = hollow_film(
        flight,
        time=heating.time,
        diameter=2.0 * float(tip.mesh.points[nodes, 0].max()),
        wind=table.pad.wind,
    )
    shape = (heating.time.size, nodes.size)
    inside = np.broadcast_to(film[:, None, None], (*shape, surface.wall.size))
    air = np.broadcast_to(heating.recovery[:, -1:], shape)
    none = np.zeros(shape)
    return replace(
        surface,
        nodes=np.concatenate([surface.nodes, nodes]),
        area=np.concatenate([surface.area, area]),
        film=np.concatenate([surface.film, inside], axis=1),
        recovery=np.concatenate([surface.recovery, air], axis=1),
        emissivity=np.concatenate([surface.emissivity, none[0]]),
        absorbed=np.concatenate([surface.absorbed, none], axis=1),
    )


def _inner_sides(tip: Tip) -> tuple[IntArray, FloatArray]:
    """Return the nodes of the aft face and of the base's bore or cavity wall, with their areas [m2]."""
    mesh = tip.mesh
    base = np.unique(mesh.cells[mesh.cell_zone == Zone.BASE])
    bore = mesh.inner_edges[np.isin(mesh.inner_edges, base).all(axis=1)]
    area = edge_areas(mesh.points, np.concatenate([mesh.aft_edges, bore]))
    # the corner is a node of the heated side: its share goes to the neighbour
    corner, neighbour = mesh.rows[-1, :2]
    area[neighbour] += area[corner]
    area[corner] = 0.0
    nodes = np.flatnonzero(area > 0.0)
    return nodes, area[nodes]
