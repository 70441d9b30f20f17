"""Shells on a plain lattice of nodes, solved for stress: what stress tests of every kind start from."""

from dataclasses import dataclass

import numpy as np
import pytest

from optitip.properties.materials import Elastic
from optitip.solvers.elastic import (
    Restraint,
    StressBody,
    StressFields,
    StressLoads,
    solve_stress,
    stress_body,
)
from optitip.solvers.elastic_cells import NineNodeCells, nine_node_cells, nodal_average


@dataclass(frozen=True, kw_only=True)
class SolvedShell:
    """A shell with its loads and fields; ``points`` is the lattice (n_rows, n_across + 1, 2)."""

    points: np.ndarray
    cells: NineNodeCells
    body: StressBody
    loads: StressLoads
    fields: StressFields

    def at_lattice(self, fields):
        """Return nodal stress (n_rows, n_across + 1, 4) at the first instant."""
        return nodal_average(self.cells, at_reduced_points=fields)[0][self.cells.rows]


def _elastic(
    modulus=70e9, *, poisson=0.33, expansion=23.6e-6, yield_strength=240e6, temperature=(0.0, 1000.0)
):
    """Return elastic tables; single numbers hold at every temperature."""
    spread = np.ones(len(temperature))
    return Elastic(
        temperature=np.array(temperature, dtype=float),
        modulus=modulus * spread,
        poisson=poisson,
        expansion=expansion * spread,
        reference_temperature=293.15,
        yield_strength=yield_strength * spread,
        valid=(temperature[0], temperature[-1]),
    )


def _solve_lattice(
    lattice,
    *,
    elastic,
    restraint=Restraint.AFT_FACE,
    temperature=None,
    start=300.0,
    outline_pressure=0.0,
    inner_pressure=0.0,
    acceleration=0.0,
    density=2700.0,
    strip_zone=None,
    apex=False,
):
    """Solve nodes given row by row, outline to inner; ``temperature`` is an array over the lattice."""
    n_rows, n_across = lattice.shape[:2]
    rows = np.arange(n_rows * n_across).reshape(n_rows, n_across)
    if apex:
        rows[0] = rows[0, 0]
    strip_zone = np.zeros(n_rows - 1, dtype=np.int64) if strip_zone is None else np.asarray(strip_zone)
    cells = nine_node_cells(rows, strip_zone=strip_zone)
    materials = elastic if isinstance(elastic, tuple) else (elastic,)
    body = stress_body(
        lattice.reshape(-1, 2),
        cells=cells,
        materials=materials,
        cell_material=np.minimum(cells.zone, len(materials) - 1),
        density=np.full(len(materials), density),
        restraint=restraint,
    )
    hot = np.full((n_rows, n_across), start) if temperature is None else np.asarray(temperature)
    loads = StressLoads(
        temperature=hot.reshape(1, -1),
        start_temperature=start,
        acceleration=np.array([acceleration]),
        outline_pressure=np.broadcast_to(outline_pressure, (1, n_rows)),
        inner_pressure=np.broadcast_to(inner_pressure, (1, n_rows)),
    )
    fields = solve_stress(body, loads=loads)
    return SolvedShell(points=lattice, cells=cells, body=body, loads=loads, fields=fields)


def _tube_lattice(inner_radius, outer_radius, *, length, strips, across):
    """Return the nodes of a straight tube, fore to aft and outline to inner."""
    radius = np.linspace(outer_radius, inner_radius, across + 1)
    axial = np.linspace(0.0, length, strips + 1)
    return np.stack(np.broadcast_arrays(radius[None, :], axial[:, None]), axis=-1)


def _ball_lattice(inner_radius, outer_radius, *, strips, across):
    """Return the nodes of half a hollow ball, from its pole on the axis to its equator at z = 0."""
    angle = np.linspace(0.0, 0.5 * np.pi, strips + 1)[:, None]
    radius = np.linspace(outer_radius, inner_radius, across + 1)[None, :]
    lattice = np.stack((radius * np.sin(angle), -radius * np.cos(angle)), axis=-1)
    lattice[0, :, 0] = lattice[-1, :, 1] = 0.0
    return lattice


@pytest.fixture
def elastic():
    """Return the maker of elastic tables."""
    return _elastic


@pytest.fixture
def solve_lattice():
    """Return the solver of shells on a lattice."""
    return _solve_lattice


@pytest.fixture
def tube_lattice():
    """Return the maker of straight tubes."""
    return _tube_lattice


@pytest.fixture
def ball_lattice():
    """Return the maker of half balls."""
    return _ball_lattice
