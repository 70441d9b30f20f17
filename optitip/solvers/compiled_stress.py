"""The compiled stress: one design's states through eight lanes, the plain one's answer to round-off."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from threading import local

import numpy as np

from optitip.arrays import FloatArray, IntArray, frozen_index
from optitip.properties.materials import Elastic
from optitip.solvers.compiled import fingerprint
from optitip.solvers.compiled_layout import aligned, on_lines
from optitip.solvers.compiled_stress_cells import tabulate
from optitip.solvers.compiled_stress_layout import (
    CORNERS,
    GAUSS,
    LOWER,
    NUMBERS,
    STIFFNESS,
    TABLE_ROWS,
    StressLanes,
    StressPlaces,
    stress_lanes,
    table_room,
)
from optitip.solvers.compiled_stress_states import LAW_ROW, load_up, move, strain
from optitip.solvers.elastic_assembly import BandPlan
from optitip.solvers.elastic_cells import NineNodeCells
from optitip.solvers.lanes import WIDTH, compiled_once


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ShellLanes:
    """What one design gives to the kernels.

    laws: each material's modulus and expansion in segments. cells: the tables of all cells, eight a row.
    """

    lanes: StressLanes
    points: FloatArray
    cells: FloatArray
    laws: FloatArray
    segments: int
    material: IntArray
    density: FloatArray

    def solve(
        self,
        *,
        temperature: FloatArray,
        start: float | FloatArray,
        acceleration: FloatArray,
        outline: FloatArray,
        inner: FloatArray,
        pushes: FloatArray,
    ) -> "LaneStates":
        """Return the movements of eight states at most; what is found stays until this thread solves again.

        pushes: forces of 1 N at each place of contact (n, n_c); the rest as ``StressLoads`` has it.
        """
        lanes, at = self.lanes, self.lanes.at
        count = len(acceleration)
        rows = _bench(lanes.row_total)
        # lanes that nobody uses repeat the first state
        lane = np.where(np.arange(WIDTH) < count, np.arange(WIDTH), 0)
        rows[at.temperature : at.cold] = temperature[lane].T
        rows[at.cold : at.outline] = np.broadcast_to(start, at.node_count)[:, None]
        rows[at.outline : at.inner] = outline[lane].T
        rows[at.inner : at.acceleration] = inner[lane].T
        rows[at.acceleration] = acceleration[lane]
        rows[at.right : at.solved] = rows[at.pressing : at.local] = 0.0
        for number, push in enumerate(pushes.T, start=2):
            rows[at.right + lanes.sides * number :][: len(push)] = push[:, None]
        _solved(
            rows,
            self.cells,
            lanes.index,
            lanes.record,
            lanes.shared,
            self.laws,
            self.segments,
            self.material,
            self.density,
            self.points,
            lanes.sides,
        )
        return LaneStates(shell=self, rows=rows, count=count)


def _entries(sources: int) -> tuple[Callable[..., bool], Callable[..., int], Callable[..., int]]:
    @compiled_once
    def tables(cells: FloatArray, shared: FloatArray, groups: int, bench: FloatArray) -> bool:
        """Fill the cells' tables."""
        return tabulate(cells, shared, groups, bench) and sources != 0

    @compiled_once
    def solved(
        rows: FloatArray,
        cells: FloatArray,
        index: IntArray,
        at: StressPlaces,
        shared: FloatArray,
        laws: FloatArray,
        segments: int,
        material: IntArray,
        density: FloatArray,
        points: FloatArray,
        sides: int,
    ) -> int:
        """Load, factorise and solve."""
        load_up(rows, cells, index, at, shared, laws, segments, material, density, points, sides)
        move(rows, index, at, sides)
        return sources

    @compiled_once
    def strained(rows: FloatArray, cells: FloatArray, index: IntArray, at: StressPlaces, sides: int) -> int:
        """Take stress and the nodes' movement from the free movements."""
        strain(rows, cells, index, at, sides)
        return sources

    return tables, solved, strained


_tables, _solved, _strained = _entries(fingerprint())


def shell_lanes(
    points: FloatArray,
    *,
    cells: NineNodeCells,
    plan: BandPlan,
    pushes: int,
    materials: tuple[Elastic, ...],
    cell_material: IntArray,
    density: FloatArray,
) -> ShellLanes | None:
    """Return a design ready for the kernels, or none where a cell folds over itself.

    points: (n_nodes, 2) [m]. pushes: places of contact. cell_material, density: of each cell (m,).
    """
    lanes = stress_lanes(plan, cells=cells, pushes=pushes)
    count = len(cells.nodes)
    padded = np.minimum(np.arange(-(-count // WIDTH) * WIDTH), count - 1).reshape(-1, WIDTH)
    room = table_room(count)
    by_group = room.reshape(-1, TABLE_ROWS, WIDTH)
    corners = np.asarray(points)[cells.nodes].reshape(count, 18)
    by_group[:, CORNERS : CORNERS + 18] = corners[padded].transpose(0, 2, 1)
    nu = np.array([material.poisson for material in materials])[cell_material][padded]
    volumetric = (1.0 + nu) * (1.0 - 2.0 * nu)
    numbers = ((1.0 - nu) / volumetric, nu / volumetric, 0.5 / (1.0 + nu), 1.0 / (1.0 - 2.0 * nu))
    by_group[:, NUMBERS : NUMBERS + 4] = np.stack(numbers, axis=1)
    if not _tables(room, lanes.shared, len(by_group), aligned(28)):
        return None
    for cell in plan.merged.tolist():
        table = by_group[cell // WIDTH, STIFFNESS : STIFFNESS + GAUSS * LOWER, cell % WIDTH]
        table.reshape(GAUSS, LOWER)[...] *= plan.twice[cell]
    laws, segments = _laws(materials)
    return ShellLanes(
        lanes=lanes,
        points=np.ascontiguousarray(points),
        cells=room,
        laws=laws,
        segments=segments,
        material=frozen_index(cell_material),
        density=np.ascontiguousarray(density),
    )


class _Room(local):
    """A thread's memory for the states, kept: memory handed out anew costs more than the sums in it."""

    rows: FloatArray = np.empty((0, WIDTH))


_room = _Room()


def _bench(rows: int) -> FloatArray:
    """Return so many rows of this thread's memory."""
    if len(_room.rows) < rows:
        _room.rows = on_lines(rows, width=WIDTH)
    return _room.rows[:rows]


@lru_cache(maxsize=64)
def _laws(materials: tuple[Elastic, ...]) -> tuple[FloatArray, int]:
    """Return modulus and expansion between knots (materials, 3 + 4 segments), and the number of segments."""
    segments = max(max(len(one.temperature) for one in materials) - 1, 1)
    laws = np.zeros((len(materials), 3 + LAW_ROW * segments))
    for law, one in zip(laws, materials, strict=True):
        law[:3] = one.modulus[0], one.expansion[0], one.reference_temperature
        length = np.diff(one.temperature)
        own = law[3:].reshape(segments, LAW_ROW)[: len(length)]
        own[:, 0], own[:, 1] = one.temperature[:-1], length
        own[:, 2], own[:, 3] = np.diff(one.modulus) / length, np.diff(one.expansion) / length
    return laws, segments


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LaneStates:
    """States in the lanes, their movements known; contact may still change them.

    rows: the kernels' memory; count: how many lanes are in use.
    """

    shell: ShellLanes
    rows: FloatArray
    count: int

    @property
    def moved(self) -> FloatArray:
        """Return the free movements (2 + pushes, n_s, n + 1); the last of each is held."""
        at, sides = self.shell.lanes.at, self.shell.lanes.sides
        found = self.rows[at.solved : at.solved + (2 + at.pushes) * sides].reshape(-1, sides, WIDTH)
        return found[..., : self.count].transpose(0, 2, 1)

    def add(self, by_loads: FloatArray, by_all: FloatArray) -> None:
        """Have the fields take these forces of contact (n_s, pushes) [N] too, in either case."""
        at = self.shell.lanes.at
        pressing = self.rows[at.pressing : at.pressing + 2 * at.pushes, : self.count]
        pressing[...] = np.concatenate((by_loads.T, by_all.T))

    @property
    def stiff(self) -> bool:
        """Return whether the stiffness of all states is positive definite."""
        return bool(np.all(self.rows[self.shell.lanes.at.pivot, : self.count] > 0.0))

    @property
    def ahead(self) -> FloatArray:
        """Return the loads' axial force ahead of each block row and of the aft face (n_s, blocks + 1)."""
        at = self.shell.lanes.at
        return self.rows[at.ahead : at.ahead + at.block_rows + 1, : self.count].T.copy()

    def put(self, *, stress: FloatArray, movement: FloatArray) -> None:
        """Put the stress into (2, m, 4, 4, n_s) and the nodes' movement into (2, n_nodes, 2, n_s)."""
        shell, at = self.shell, self.shell.lanes.at
        _strained(self.rows, shell.cells, shell.lanes.index, shell.lanes.record, shell.lanes.sides)
        for found, begin, end in ((stress, at.stress, at.movement), (movement, at.movement, len(self.rows))):
            found[...] = self.rows[begin:end].reshape(*found.shape[:-1], WIDTH)[..., : self.count]
