"""What tests of every kind start from: shells solved for stress, columns and lattices for heat."""

import os
from dataclasses import dataclass

for _name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(_name, "1")  # as the command line does, before numpy reads it

import numpy as np
import pytest

from optitip.properties.materials import Elastic, Family, Material
from optitip.properties.phases import Melting, SpentHeat, even_melting, melting_nodes, with_nodes
from optitip.solvers.assembly import HeatModel, assemble
from optitip.solvers.body import HeatBody, HeatJoint, Surface
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
    fits=None,
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
        fits=fits or {},
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
    return SolvedShell(points=lattice, cells=body.cells, body=body, loads=loads, fields=fields)


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


@dataclass(frozen=True, kw_only=True)
class Column:
    """Layers stacked along z on a disc of 1 m2: exactly plane, so J and W read per square metre.

    ``layers`` are the nodes on the axis, layer by layer; ``near``, ``far`` the two nodes of each end face and
    ``area`` [m2] what each of the two stands for.
    """

    body: HeatBody
    model: HeatModel
    layers: tuple[np.ndarray, ...]
    near: np.ndarray
    far: np.ndarray
    area: np.ndarray


def _solid(
    conductivity, *, heat_capacity, boiling=None, latent_heat=0.0, decomposition=None, melting=None, grid=None
):
    """Return a material; properties are numbers or functions of temperature [K].

    ``latent_heat`` [J/m3] is that of boiling, of decomposition or of melting, a range (low, high) [K].
    """
    temperature = np.arange(73.15, 2474.0) if grid is None else grid
    melts = None if melting is None else Melting(low=melting[0], high=melting[1], latent_heat=latent_heat)
    if melts is not None:
        temperature = with_nodes(temperature, melting_nodes(*melting))
    k, c = (
        np.broadcast_to(
            np.asarray(law(temperature) if callable(law) else law, dtype=float), temperature.shape
        )
        for law in (conductivity, heat_capacity)
    )
    if melts is not None:
        c = c + even_melting(temperature, melts)
    enthalpy, kirchhoff = (
        np.concatenate([[0.0], np.cumsum(0.5 * (y[1:] + y[:-1]) * np.diff(temperature))]) for y in (c, k)
    )
    return Material(
        name="invented",
        title="Invented",
        family=Family.METAL,
        density=1000.0,
        temperature=temperature,
        conductivity=k,
        heat_capacity=c,
        enthalpy=enthalpy,
        kirchhoff=kirchhoff,
        reference_temperature=temperature[0],
        conductivity_reference=1.0,
        valid=(temperature[0], temperature[-1]),
        boiling=None if boiling is None else SpentHeat(temperature=boiling, latent_heat=latent_heat),
        decomposition=(
            None if decomposition is None else SpentHeat(temperature=decomposition, latent_heat=latent_heat)
        ),
        melting=melts,
        elastic=None,
        emissivity=None,
        service_limit=None,
        service_reason="",
        cautions=(),
        sources=(),
    )


def _joint(first, *, second, area, conductance, gap_rate=0.0, gap_reference=293.15):
    """Return a joint; conductance and gap rate are the same all over."""
    ones = np.ones(len(first))
    return HeatJoint(
        name="sample",
        first=first,
        second=second,
        area=area * ones,
        conductance=conductance * ones,
        gap_rate=gap_rate * ones,
        gap_reference=gap_reference,
        gap_conductivity=0.026,
    )


def _surface(nodes, *, area, film=0.0, recovery=300.0, time=(0.0,), emissivity=0.0, surroundings=300.0):
    """Return a surface, the same all over; film and recovery are numbers or one value an instant."""
    n_t, n_o = len(time), len(nodes)
    film, recovery, surroundings = (np.broadcast_to(value, n_t) for value in (film, recovery, surroundings))
    return Surface(
        nodes=nodes,
        area=area,
        time=time,
        wall=[300.0],
        film=np.broadcast_to(film[:, None, None], (n_t, n_o, 1)),
        recovery=np.broadcast_to(recovery[:, None], (n_t, n_o)),
        emissivity=np.full(n_o, emissivity),
        surroundings=surroundings,
    )


def _column(*layers, joints=(), **options):
    """Return layers ``(z values, material)`` joined in order with conductances ``joints`` [W/(m2 K)]."""
    radius = 1.0 / np.sqrt(np.pi)
    share = np.array([1.0, 2.0]) / 3.0  # integral of N 2 pi r over the disc, for the axis and for the rim
    points = np.array([(r, z) for zs, _ in layers for z in zs for r in (0.0, radius)])
    sizes = [len(zs) for zs, _ in layers]
    starts = 2 * np.cumsum([0, *sizes])
    cells, owner, pairs = [], [], []
    for layer, (start, size) in enumerate(zip(starts, sizes, strict=False)):
        low = start + 2 * np.arange(size - 1)
        cells.append(np.stack([low, low + 1, low + 3, low + 2], axis=1))
        owner.append(np.full(size - 1, layer))
    for start, conductance in zip(starts[1:], joints, strict=False):
        first, second = [start - 2, start - 1], [start, start + 1]
        pairs.append(_joint(first, second=second, area=share, conductance=conductance, **options))
    owner = np.concatenate(owner)
    body = HeatBody(
        points=points,
        cells=np.concatenate(cells),
        cell_material=owner,
        cell_weight=np.ones(owner.size),
        materials=tuple(material for _, material in layers),
        joints=tuple(pairs),
    )
    return Column(
        body=body,
        model=assemble(body),
        layers=tuple(start + 2 * np.arange(size) for start, size in zip(starts, sizes, strict=False)),
        near=np.array([0, 1]),
        far=np.array([starts[-1] - 2, starts[-1] - 1]),
        area=share,
    )


def _lattice_body(lattice, *, material):
    """Return one material on a lattice (n_rows, n_across, 2) of r, z; coinciding nodes become one."""
    n_rows, n_across = lattice.shape[:2]
    _, first, inverse = np.unique(
        lattice.reshape(-1, 2).round(12), axis=0, return_index=True, return_inverse=True
    )
    # numbered as they first appear, across before along, which keeps the band narrow
    node = np.argsort(np.argsort(first))[inverse].reshape(n_rows, n_across)
    points = lattice.reshape(-1, 2)[np.sort(first)]
    cells = np.stack([node[:-1, :-1], node[:-1, 1:], node[1:, 1:], node[1:, :-1]], axis=-1).reshape(-1, 4)
    r, z = points[cells, 0], points[cells, 1]
    if np.sum(r * np.roll(z, -1, axis=1) - np.roll(r, -1, axis=1) * z) < 0.0:
        cells = cells[:, ::-1]
    count = cells.shape[0]
    body = HeatBody(
        points=points,
        cells=cells,
        cell_material=np.zeros(count, dtype=int),
        cell_weight=np.ones(count),
        materials=(material,),
    )
    return body, node


def _edge_areas(points, *, nodes):
    """Return the area [m2] each node of a polyline stands for when it is turned about the axis."""
    area = np.zeros(len(nodes))
    ends = points[nodes]
    length = np.hypot(*np.diff(ends, axis=0).T)
    r = ends[:, 0]
    area[:-1] += 2.0 * np.pi * length * (2.0 * r[:-1] + r[1:]) / 6.0
    area[1:] += 2.0 * np.pi * length * (r[:-1] + 2.0 * r[1:]) / 6.0
    return area


@pytest.fixture
def solid():
    """Return the maker of invented materials for heat."""
    return _solid


@pytest.fixture
def joint():
    """Return the maker of joints."""
    return _joint


@pytest.fixture
def surface():
    """Return the maker of heated surfaces."""
    return _surface


@pytest.fixture
def column():
    """Return the maker of plane layers on a disc of 1 m2."""
    return _column


@pytest.fixture
def lattice_body():
    """Return the maker of bodies of one material on a lattice."""
    return _lattice_body


@pytest.fixture
def edge_areas():
    """Return the areas a turned polyline's nodes stand for."""
    return _edge_areas
