"""The stress of the study's shell at a few instants: ours, plain and compiled, beside scikit-fem's assembly.

scikit-fem has the same nine-node cells, the same E(T) and alpha(T) at its points and the same two load cases,
heat and inertia; it bears no pressure and takes no stress from its movements, which is left out of its time.
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial

import numpy as np
from marched import study
from measuring import side_by_side
from scipy.sparse import coo_array
from scipy.sparse.linalg import splu
from skfem import Basis, BilinearForm, ElementQuad2, ElementVector, LinearForm, MeshQuad2
from skfem.helpers import ddot, div, sym_grad, trace

from optitip.evaluate.building import Tip, build_tip
from optitip.geometry.topology import Resolution
from optitip.solvers.elastic import StressBody, StressFields, StressLoads, solve_stress, stress_body
from optitip.solvers.elastic_lanes import compiled_shell
from optitip.solvers.elastic_lines import WallStress, wall_stress

INSTANTS = (1, 3, 6, 8)
# lattice places of a cell's nodes as scikit-fem orders them: corners, sides, centre
_PLACES = np.array([0, 6, 8, 2, 3, 7, 5, 1, 4])


def shell_tip() -> Tip:
    """Return the tip of the study on the usual grid."""
    given = study()
    return build_tip(given.tables, folder=given.folder, resolution=Resolution())


def loads_at(tip: Tip, *, instants: int) -> StressLoads:
    """Return made-up instants: a hot band that wanders aft, growing hotter, and a push; no pressure."""
    r, z = np.asarray(tip.mesh.points).T
    step = np.arange(instants)[:, None]
    none = np.zeros((instants, len(tip.mesh.rows)))
    return StressLoads(
        temperature=300.0 + (60.0 + 20.0 * step) * np.exp(-(((z - 0.02 * step) / 0.03) ** 2)) + 2e3 * r,
        start_temperature=291.15,
        acceleration=np.linspace(50.0, 200.0, instants),
        outline_pressure=none,
        inner_pressure=none,
    )


@dataclass(frozen=True, kw_only=True)
class Row:
    """CPU times [s] of one way at a number of instants.

    setting_up: of a design met afresh, from its mesh to its tables. solve: loads, factorisation, stress.
    wall: stress at the judged places, with what the geometry decides of it. fresh: setting up and solving;
    all_in: the wall too.
    """

    name: str
    instants: int
    solve: float
    setting_up: float | None = None
    wall: float | None = None
    fresh: float | None = None
    all_in: float | None = None


def rows(*, repeats: int = 20) -> list[Row]:
    """Return what each number of instants costs each way, side by side."""
    tip, rival = shell_tip(), ScikitFem(shell_tip())
    ways = {"plain": False} | ({"compiled": True} if compiled_shell() else {})
    found = []
    for instants in INSTANTS:
        loads = loads_at(tip, instants=instants)
        runs: dict[tuple[str, str], Callable[[], object]] = {
            ("scikit-fem", "solve"): partial(rival.movements, loads)
        }
        for name, compiled in ways.items():
            body = body_of(tip, compiled=compiled)
            fields = solve_stress(body, loads=loads)
            runs[name, "setting_up"] = partial(body_of, tip, compiled=compiled)
            runs[name, "solve"] = partial(solve_stress, body, loads=loads)
            runs[name, "wall"] = partial(wall_stress, body, loads=loads, fields=fields)
            runs[name, "fresh"] = partial(stressed, tip, loads, compiled=compiled)
            runs[name, "all_in"] = partial(through_wall, tip, loads, compiled=compiled)
        times = side_by_side(runs, repeats=repeats)
        for name in (*ways, "scikit-fem"):
            own = {stage: spent for (way, stage), spent in times.items() if way == name}
            found.append(Row(name=name, instants=instants, **own))
    return found


def body_of(tip: Tip, *, compiled: bool) -> StressBody:
    """Return the tip's shell, of one metal, met afresh."""
    metal = tip.materials[tip.parts.nine_node_material[0]]
    return stress_body(
        tip.mesh.points,
        cells=tip.parts.nine_node,
        materials=(metal.elastic,),
        cell_material=np.zeros(len(tip.parts.nine_node_material), dtype=np.int64),
        density=np.array([metal.density]),
        compiled=compiled,
    )


def stressed(tip: Tip, loads: StressLoads, *, compiled: bool) -> StressFields:
    """Return the fields of a design met afresh."""
    return solve_stress(body_of(tip, compiled=compiled), loads=loads)


def through_wall(tip: Tip, loads: StressLoads, *, compiled: bool) -> WallStress:
    """Return the wall stress of a design met afresh."""
    body = body_of(tip, compiled=compiled)
    return wall_stress(body, loads=loads, fields=solve_stress(body, loads=loads))


class ScikitFem:
    """The shell in scikit-fem's cells, its nodes numbered as ours; what doesn't change is made once."""

    def __init__(self, tip: Tip) -> None:
        """Make basis, numbers and what is held."""
        self.body = body_of(tip, compiled=False)
        cells = self.body.cells
        corners = np.asarray(self.body.points)[cells.nodes]
        shape = np.arange(corners.shape[0] * 9).reshape(-1, 9).T.copy()
        mesh = MeshQuad2(corners[:, _PLACES].reshape(-1, 2).T.copy(), shape)
        self.basis = Basis(mesh, ElementVector(ElementQuad2()), intorder=5)
        self.scalar = self.basis.with_element(ElementQuad2())
        place = _nearest(self.basis, corners)
        moving = 2 * np.take_along_axis(np.asarray(cells.moving), place, axis=1) + np.arange(18) % 2
        self.number = np.zeros(self.basis.N, dtype=int)
        self.number[self.basis.element_dofs.T] = moving
        nodes = np.zeros(self.scalar.N, dtype=int)
        own = np.take_along_axis(np.asarray(cells.nodes), _nearest(self.scalar, corners), axis=1)
        nodes[self.scalar.element_dofs.T] = own
        self.nodes = nodes
        self.free = np.flatnonzero(np.asarray(self.body.plan.number).ravel() < self.body.plan.free_count)
        nu, density = 0.0 * self.body.density, self.body.density
        for index, material in enumerate(self.body.materials):
            nu = np.where(self.body.cell_material == index, material.poisson, nu)
        self.nu, self.density = nu[:, None], density[:, None]

    def movements(self, loads: StressLoads) -> np.ndarray:
        """Return the free movements (n_i, n_free, 2) of both cases."""
        size, metal = 2 * self.body.cells.moving_count, self.body.materials[0]
        start = metal.expansion_at(loads.start_temperature)
        start = start * (loads.start_temperature - metal.reference_temperature)
        found = []
        for temperature, push in zip(loads.temperature, loads.acceleration, strict=True):
            T = np.asarray(self.scalar.interpolate(temperature[self.nodes]))
            E = metal.modulus_at(T)
            strain = metal.expansion_at(T) * (T - metal.reference_temperature) - start
            lam, mu = E * self.nu / (1 + self.nu) / (1 - 2 * self.nu), E / 2 / (1 + self.nu)
            data = STIFFNESS.coo_data(self.basis, lam=lam, mu=mu)
            row, column = self.number[data.indices]
            K = coo_array((data.data, (row, column)), shape=(size, size)).tocsc()
            forces = [
                np.bincount(self.number, weights=form.assemble(self.basis, **given), minlength=size)
                for form, given in (
                    (INERTIA, {"weight": push * self.density + 0.0 * E}),
                    (HEAT, {"stress": (3 * lam + 2 * mu) * strain}),
                )
            ]
            right = np.stack((forces[0], forces[0] + forces[1]), axis=1)[self.free]
            inner = K[self.free][:, self.free]
            factor = splu(inner, permc_spec="MMD_AT_PLUS_A", options={"SymmetricMode": True})
            found.append(factor.solve(right))
        return np.array(found)


def _nearest(basis, corners) -> np.ndarray:
    """Return which of a cell's nine nodes stands at each of its basis' places."""
    places = basis.doflocs[:, basis.element_dofs].transpose(2, 1, 0)
    return np.linalg.norm(places[:, :, None] - corners[:, None], axis=-1).argmin(axis=-1)


def _stiffness(u, v, w):
    r = w.x[0]
    eu, ev = sym_grad(u), sym_grad(v)
    together = (trace(eu) + u[0] / r) * (trace(ev) + v[0] / r)
    return 2 * np.pi * r * (w["lam"] * together + 2 * w["mu"] * (ddot(eu, ev) + u[0] * v[0] / r**2))


STIFFNESS = BilinearForm(_stiffness)
INERTIA = LinearForm(lambda v, w: 2 * np.pi * w.x[0] * w["weight"] * v[1])
HEAT = LinearForm(lambda v, w: 2 * np.pi * w.x[0] * w["stress"] * (div(v) + v[0] / w.x[0]))
