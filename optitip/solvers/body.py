"""What the heat march is given: the body, its joints, its outer surface and its sinks.

All arrays are copied and made read-only. Arrays that don't fit are a caller's bug and raise ValueError.
"""

from dataclasses import dataclass, field

import numpy as np

from optitip.arrays import FloatArray, IntArray, frozen, frozen_index
from optitip.properties.materials import Material


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class HeatJoint:
    """A contact between two parts: pairs of nodes that pass area * conductance * (T_first - T_second).

    conductance: ``(n,)`` [W/(m2 K)] while pressed. A captive joint opens a gap of gap_rate * (T_first -
    gap_reference), never below zero, filled by a still gas of ``gap_conductivity`` [W/(m K)] in series.
    gap_rate: ``(n,)`` [m/K], 0 where it stays pressed. area: ``(n,)`` [m2], of the share of a turn there is.
    """

    name: str
    first: IntArray
    second: IntArray
    area: FloatArray
    conductance: FloatArray
    gap_rate: FloatArray
    gap_reference: float
    gap_conductivity: float

    def __post_init__(self) -> None:
        """Freeze the arrays and hold them to one length."""
        for key in ("first", "second"):
            object.__setattr__(self, key, frozen_index(getattr(self, key)))
        for key in ("area", "conductance", "gap_rate"):
            object.__setattr__(self, key, frozen(getattr(self, key)))
        for key in ("second", "area", "conductance", "gap_rate"):
            _require(getattr(self, key).shape == self.first.shape, f"joint {self.name}: {key}")
        _require(self.gap_conductivity > 0.0, f"joint {self.name}: gap_conductivity")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Enclosure:
    """The closed pocket: one temperature T_n its faces exchange heat with, by still air and radiation.

    q_i = area_i (film (T_n - T_i) + emissivity_i sigma (T_n^4 - T_i^4)) into the body at node i;
    heat_capacity dT_n/dt = -sum of q_i.

    nodes: ``(n,)``, none twice. area: ``(n,)`` [m2]. film [W/(m2 K)]. emissivity: ``(n,)``.
    heat_capacity [J/K] of the air shut in, above zero.

    Valid for faces that see all others alike: inside a sphere grey diffuse faces exchange exactly so.

    Source: Siegel & Howell, Thermal Radiation Heat Transfer (diffuse grey enclosures), from memory.
    """

    nodes: IntArray
    area: FloatArray
    film: float
    emissivity: FloatArray
    heat_capacity: float

    def __post_init__(self) -> None:
        """Freeze the arrays and hold them to one length."""
        object.__setattr__(self, "nodes", frozen_index(self.nodes))
        for key in ("area", "emissivity"):
            object.__setattr__(self, key, frozen(getattr(self, key)))
            _require(getattr(self, key).shape == self.nodes.shape, f"enclosure {key}")
        _require(self.heat_capacity > 0.0 and self.film >= 0.0, "enclosure")
        _require(np.unique(self.nodes).size == self.nodes.size, "enclosure nodes")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ColdSide:
    """Where vapour may condense: nodes ``(n,)``, none twice, and area ``(n,)`` [m2]."""

    nodes: IntArray
    area: FloatArray

    def __post_init__(self) -> None:
        """Freeze the arrays and hold them to one length."""
        object.__setattr__(self, "nodes", frozen_index(self.nodes))
        object.__setattr__(self, "area", frozen(self.area))
        _require(self.nodes.shape == self.area.shape, "cold side")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class HeatBody:
    """An axisymmetric body: 4-node cells in the (r, z) plane, each of one material, joined by pairs.

    points: ``(n_nodes, 2)`` [m] columns r, z. cells: ``(m, 4)`` counter-clockwise, a node twice: a triangle.
    cell_material: ``(m,)`` index into ``materials``; a node is of one material, unlike parts share no node.
    cell_weight: ``(m,)`` share of the circumference the cell fills, 1 for a full turn.
    cell_region: ``(m,)`` number of the cell's part, for sums and for the step control (none: the material).
    enclosure: the closed pocket, if its faces exchange heat. cold_side: where vapour may condense.
    """

    points: FloatArray
    cells: IntArray
    cell_material: IntArray
    cell_weight: FloatArray
    materials: tuple[Material, ...]
    joints: tuple[HeatJoint, ...] = ()
    cell_region: IntArray | None = None
    enclosure: Enclosure | None = None
    cold_side: ColdSide = field(
        default_factory=lambda: ColdSide(nodes=np.empty(0, dtype=np.int64), area=np.empty(0))
    )

    def __post_init__(self) -> None:
        """Freeze the arrays and hold them to the number of cells."""
        object.__setattr__(self, "points", frozen(self.points))
        object.__setattr__(self, "cells", frozen_index(self.cells))
        object.__setattr__(self, "cell_material", frozen_index(self.cell_material))
        object.__setattr__(self, "cell_weight", frozen(self.cell_weight))
        cell_count = self.cells.shape[0]
        if self.cell_region is not None:
            object.__setattr__(self, "cell_region", frozen_index(self.cell_region))
            _require(self.cell_region.shape == (cell_count,), "cell_region")
        for key in ("cell_material", "cell_weight"):
            _require(getattr(self, key).shape == (cell_count,), key)
        _require(self.points.ndim == 2 and self.points.shape[1] == 2, "points")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Surface:
    """The heated surface: heat flux into the body in time and with the wall's own temperature.

    q = film(t, T) (recovery(t) - T) + emissivity sigma (surroundings(t)^4 - T^4) + absorbed(t)
    [W/m2], positive inward.

    nodes: ``(n_o,)``, none twice. area: ``(n_o,)`` [m2]. time: ``(n_t,)`` [s] and wall: ``(n_w,)`` [K] rise.
    film: ``(n_t, n_o, n_w)`` [W/(m2 K)], linear in time and wall temperature. recovery: ``(n_t, n_o)`` [K].
    emissivity: ``(n_o,)``. surroundings: ``(n_t,)`` [K]. absorbed: ``(n_t, n_o)`` [W/m2], or what broadcasts
    to it, taken up whatever the wall does. Outside either range the nearest entry holds.
    """

    nodes: IntArray
    area: FloatArray
    time: FloatArray
    wall: FloatArray
    film: FloatArray
    recovery: FloatArray
    emissivity: FloatArray
    surroundings: FloatArray
    absorbed: FloatArray = field(default_factory=lambda: np.zeros(1))

    def __post_init__(self) -> None:
        """Freeze the arrays and hold them to one another."""
        object.__setattr__(self, "nodes", frozen_index(self.nodes))
        for key in ("area", "time", "wall", "film", "recovery", "emissivity", "surroundings"):
            object.__setattr__(self, key, frozen(getattr(self, key)))
        times, nodes, walls = self.time.size, self.nodes.size, self.wall.size
        object.__setattr__(self, "absorbed", frozen(np.broadcast_to(self.absorbed, (times, nodes))))
        expected = {
            "area": (nodes,),
            "film": (times, nodes, walls),
            "recovery": (times, nodes),
            "emissivity": (nodes,),
            "surroundings": (times,),
        }
        for key, shape in expected.items():
            _require(getattr(self, key).shape == shape, f"surface {key}")
        for key in ("film", "recovery", "surroundings", "absorbed"):
            _require(bool(np.isfinite(getattr(self, key).sum())), f"surface {key}")
        _require(bool((np.diff(self.time) > 0.0).all()), "surface time")
        _require(bool((np.diff(self.wall) > 0.0).all()), "surface wall")
        _require(np.unique(self.nodes).size == nodes, "surface nodes")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Sink:
    """A constant temperature outside the body behind a conductance: takes conductance * (T - temperature).

    nodes: ``(n,)``. conductance: ``(n,)`` [W/K]. temperature [K].
    """

    nodes: IntArray
    conductance: FloatArray
    temperature: float

    def __post_init__(self) -> None:
        """Freeze the arrays and hold them to one length."""
        object.__setattr__(self, "nodes", frozen_index(self.nodes))
        object.__setattr__(self, "conductance", frozen(self.conductance))
        _require(self.nodes.shape == self.conductance.shape, "sink conductance")


def _require(holds: bool, place: str) -> None:
    if not holds:
        raise ValueError(f"{place}: its shape, order or values don't fit what stands beside it")
