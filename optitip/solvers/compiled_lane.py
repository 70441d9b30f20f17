"""The memory of eight lanes: cases put into it, histories taken out of it."""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from optitip.arrays import FloatArray, IntArray
from optitip.solvers.assembly import HeatModel
from optitip.solvers.balance import balance_scale
from optitip.solvers.body import Surface
from optitip.solvers.case import HeatCase
from optitip.solvers.compiled_layout import aligned, on_lines, upwards
from optitip.solvers.compiled_topology import LaneTopology
from optitip.solvers.compiled_verdict import MARCHING
from optitip.solvers.enthalpy import EnthalpyTable, start_enthalpy
from optitip.solvers.history import History
from optitip.solvers.lanes import WIDTH
from optitip.solvers.march import pocket_start
from optitip.solvers.surface import STEFAN_BOLTZMANN

_IDLE = -1
_MOST_BUCKETS = 4096


@lru_cache(maxsize=64)
def _entries(table: EnthalpyTable) -> FloatArray:
    """Return a table as ``(CELLS, 4)``: temperature, its rise, tau, its rise, half a line of cache a cell."""
    columns = (table.temperature[:-1], np.diff(table.temperature), table.tau[:-1], np.diff(table.tau))
    return np.stack(columns, axis=1)


@dataclass(frozen=True, slots=True, eq=False)
class WallGrid:
    """The wall temperatures of a surface, found by even buckets: the least column, and the most beyond it.

    cells ``(n_w - 1, 4)``: where a column begins, one over its width, and its bounds, above then below: the
    first has none below, the last none above.
    """

    cells: FloatArray
    buckets: FloatArray
    scale: float
    steps: int


@lru_cache(maxsize=64)
def _wall_grid(walls: bytes) -> WallGrid:
    wall = np.frombuffer(walls)
    count = min(int(2.0 * (wall[-1] - wall[0]) / np.diff(wall).min()) + 2, _MOST_BUCKETS)
    width = (wall[-1] - wall[0]) / count
    # a hair wider on both sides than a bucket is: round-off may put a wall into its neighbour
    edges = wall[0] + width * np.arange(count + 1)
    least = np.searchsorted(wall[1:-1], edges[:-1] - 1e-6 * width)
    most = np.searchsorted(wall[1:-1], edges[1:] + 1e-6 * width)
    ends = np.append(wall[1:-1], np.inf)
    cells = np.stack([wall[:-1], 1.0 / np.diff(wall), ends, np.insert(wall[1:-1], 0, -np.inf)], axis=1)
    return WallGrid(cells, least.astype(np.float64), 1.0 / width, int((most - least).max()))


def wall_grid(surface: Surface) -> WallGrid:
    """Return how a surface's wall temperatures are found; grids are kept, for most heatings share one."""
    return _wall_grid(_two_walls(surface.wall).tobytes())


@dataclass(slots=True)
class _Heated:
    """A surface as the kernels read it: kept here, for they know addresses alone."""

    surface: Surface
    film: FloatArray
    grid: WallGrid


def _two_walls(wall: FloatArray) -> FloatArray:
    return wall if wall.size > 1 else np.array([wall[0], wall[0] + 1.0])


def _heated(surface: Surface) -> _Heated:
    film = surface.film if surface.wall.size > 1 else np.repeat(surface.film, 2, axis=2)
    return _Heated(surface, film, wall_grid(surface))


@dataclass(slots=True)
class _Output:
    """What one lane's march writes: rows of the record."""

    temperature: FloatArray
    warming: FloatArray
    leaving: FloatArray
    trace: FloatArray
    boiled: FloatArray

    def enlarged(self, capacity: int) -> "_Output":
        """Return the same rows with room for more."""
        grown = []
        for old in (self.temperature, self.warming, self.leaving, self.trace, self.boiled):
            new = on_lines(capacity, width=old.shape[1])
            new[: old.shape[0]] = old
            grown.append(new)
        return _Output(*grown)


@dataclass(slots=True)
class _Running:
    """A case in its lanes, and all that the kernels hold addresses of."""

    case: HeatCase
    stops: FloatArray
    times: FloatArray
    outputs: list[_Output]
    heated: list[_Heated]


class Lanes:
    """Eight lanes of one topology; a case fills as many as it has states, its number is its first lane."""

    def __init__(self, topology: LaneTopology) -> None:
        """Lay out empty memory."""
        self.topology = topology
        at = topology.at
        self.rows = aligned(topology.row_count)
        self.whole: IntArray = aligned(topology.whole_count).view(np.int64)
        self.whole[at.case] = _IDLE
        self._scratch = np.empty(upwards(max(at.nodes, at.trace_size), step=WIDTH))
        self.whole[at.scratch_address] = self._scratch.ctypes.data
        self._running: dict[int, _Running] = {}
        self._alive: list[object] = []

    @property
    def absorbs(self) -> bool:
        """Return whether any lane's surface takes up a flux whatever the wall does."""
        return bool(self.whole[self.topology.at.absorbs].any())

    def room(self, states: int) -> int | None:
        """Return the first of as many idle lanes side by side as there are states, if there are."""
        idle = self.whole[self.topology.at.case] == _IDLE
        for column in range(WIDTH - states + 1):
            if idle[column : column + states].all():
                return column
        return None

    def status(self, column: int) -> int:
        """Return what became of a case."""
        return int(self.whole[self.topology.at.case_status, column])

    def load(self, case: HeatCase, *, column: int) -> None:
        """Put a case into its lanes, ready to begin; OutOfRange where it starts outside its tables."""
        at, rows, whole = self.topology.at, self.rows, self.whole
        model = case.models[0]
        start = start_enthalpy(case.start, tables=model.tables, node_material=model.node_material)
        stops = [stop for stop in case.stops() if stop > case.start_time]
        capacity = 2 * len(stops) + 64
        running = _Running(case, np.array(stops), np.empty(capacity), [], [])
        self._running[column] = running
        for lane, (model, surface) in enumerate(zip(case.models, case.surfaces, strict=True), start=column):
            self._load_body(model, lane=lane)
            self._load_sides(model, case=case, state=lane - column, lane=lane)
            self._load_surface(surface, lane=lane, running=running)
            self._load_start(*start, case=case, lane=lane)
            running.outputs.append(self._output(capacity))
            whole[at.case, lane] = column
            rows[at.time, lane] = rows[at.before_time, lane] = case.start_time
            rows[at.length, lane] = 1.0
        rows[at.case_time, column] = case.start_time
        rows[at.case_tolerance, column] = case.tolerance
        rows[at.case_span, column] = case.end_time - case.start_time
        for place in (at.case_steps, at.case_rejected, at.case_rows, at.case_stop):
            whole[place, column] = 0
        whole[at.case_stops, column] = len(stops)
        whole[at.stops_address, column] = running.stops.ctypes.data
        whole[at.case_status, column] = MARCHING
        whole[at.case_fresh, column] = 1
        self._point(column)
        self._copy_to_idle(column)

    def _copy_to_idle(self, column: int) -> None:
        """Give lanes that never held a case something to reckon with: their results go nowhere."""
        at = self.topology.at
        for lane in range(WIDTH):
            if self.whole[at.case, lane] == _IDLE and self.whole[at.times, lane] == 0:
                self.rows[:, lane] = self.rows[:, column]
                own = self.whole[at.scratch_address, lane]
                status = self.whole[at.case_status, lane]
                self.whole[:, lane] = self.whole[:, column]
                self.whole[at.case, lane], self.whole[at.scratch_address, lane] = _IDLE, own
                self.whole[at.case_status, lane], self.whole[at.case_fresh, lane] = status, 0
                self._alive.append(self._running[column])

    def _load_body(self, model: HeatModel, *, lane: int) -> None:
        joints, tables = model.joints, model.tables
        self._put(
            lane,
            stiffness=model.stiffness.reshape(-1, order="F")[self.topology.band_entries],
            volume=model.volume,
            lowest=[table.lowest for table in tables],
            per_spacing=[1.0 / table.spacing for table in tables],
            saturated=[table.saturated for table in tables],
            latent=[table.latent for table in tables],
            least_slope=[table.least_slope for table in tables],
            per_end=joints.mean_of_ends.max(axis=0, initial=0.0),
            endless=joints.endless,
            joint_area=joints.area,
            joint_conductance=joints.conductance,
            joint_gap_rate=joints.gap_rate,
            joint_gap_reference=joints.gap_reference,
            region_volume=model.region_volume.reshape(-1)[self.topology.region_entries],
            region_weight=model.region_mean.max(axis=1),
        )
        place = self.topology.at.table
        self.whole[place : place + len(tables), lane] = [_entries(table).ctypes.data for table in tables]

    def _load_sides(self, model: HeatModel, *, case: HeatCase, state: int, lane: int) -> None:
        """Put sinks, pocket and cold side into a lane; a cold side without vapour takes nothing up."""
        at, enclosure = self.topology.at, model.enclosure
        vapour = model.boiling_temperature()[model.cold_side.nodes] if at.colds else np.empty(0)
        condenses = at.colds > 0 and model.node_tables.boils
        mass = np.ones(at.sums)
        if enclosure is not None:
            mass[-1] = enclosure.heat_capacity
            radiator = enclosure.area * enclosure.emissivity * STEFAN_BOLTZMANN
            self._put(lane, face_film=enclosure.area * enclosure.film, face_radiator=radiator)
        sizes = [sink.nodes.size for sink in case.sinks]
        held = np.repeat([sink.temperature for sink in case.sinks], sizes)
        self._put(
            lane,
            sum_mass=mass,
            sink_conductance=np.concatenate([*(sink.conductance for sink in case.sinks), np.zeros(at.colds)]),
            sink_temperature=np.concatenate([held, np.where(np.isfinite(vapour), vapour, 0.0)]),
            cold_area=model.cold_side.area[: at.colds],
            condensing=[case.shares[state] if condenses else 0.0],
            supply=[0.0],
        )

    def _put(self, lane: int, **values: FloatArray | list[float]) -> None:
        """Write each value's numbers down a lane, from the place of its name on."""
        for name, value in values.items():
            place = getattr(self.topology.at, name)
            self.rows[place : place + len(value), lane] = value

    def _load_surface(self, surface: Surface, *, lane: int, running: _Running) -> None:
        at, whole, heated = self.topology.at, self.whole, _heated(surface)
        running.heated.append(heated)
        grid, walls = heated.grid, heated.film.shape[2]
        radiator = surface.area * surface.emissivity * STEFAN_BOLTZMANN
        self._put(
            lane,
            area=surface.area,
            radiator=radiator,
            bucket_origin=[surface.wall[0]],
            bucket_scale=[grid.scale],
            bucket_last=[grid.buckets.size - 1.0],
        )
        whole[at.times, lane] = surface.time.size
        whole[at.held_row : at.held_row + 2, lane] = 0
        whole[at.time_address, lane] = surface.time.ctypes.data
        whole[at.film_address, lane] = heated.film.ctypes.data
        whole[at.film_node_bytes, lane] = 8 * walls
        whole[at.film_bytes, lane] = 8 * walls * surface.nodes.size
        whole[at.wall_table, lane] = grid.cells.ctypes.data
        whole[at.bucket_table, lane] = grid.buckets.ctypes.data
        whole[at.recovery_address, lane] = surface.recovery.ctypes.data
        whole[at.absorbed_address, lane] = surface.absorbed.ctypes.data
        whole[at.around_address, lane] = surface.surroundings.ctypes.data
        whole[at.absorbs, lane] = surface.absorbed.any()

    def _load_start(self, enthalpy: FloatArray, evaporated: FloatArray, *, case: HeatCase, lane: int) -> None:
        at = self.topology.at
        none, crossed = np.zeros(at.nodes), np.zeros(at.sums)
        if at.faces > 0:
            crossed[-1] = pocket_start(case)
        self._put(
            lane,
            enthalpy=enthalpy,
            first_enthalpy=enthalpy,
            evaporated=evaporated,
            first_evaporated=evaporated,
            crossed=crossed,
            leaving=none,
            net=[0.0],
            gross=[0.0],
        )

    def _output(self, capacity: int) -> _Output:
        at = self.topology.at
        widths = (at.nodes, at.nodes, at.nodes, at.trace_size, at.boiling_nodes)
        return _Output(*(on_lines(capacity, width=upwards(width, step=WIDTH)) for width in widths))

    def _point(self, column: int) -> None:
        """Hand the kernels the addresses of a case's record."""
        at, whole, running = self.topology.at, self.whole, self._running[column]
        whole[at.instants_address, column] = running.times.ctypes.data
        whole[at.case_capacity, column] = running.times.size
        for lane, output in enumerate(running.outputs, start=column):
            whole[at.temperature_address, lane] = output.temperature.ctypes.data
            whole[at.warming_address, lane] = output.warming.ctypes.data
            whole[at.leaving_address, lane] = output.leaving.ctypes.data
            whole[at.trace_address, lane] = output.trace.ctypes.data
            whole[at.boiled_address, lane] = output.boiled.ctypes.data

    def enlarge(self, column: int) -> None:
        """Double the room of a case's record."""
        running = self._running[column]
        capacity = 2 * running.times.size
        running.times = np.concatenate([running.times, np.empty(running.times.size)])
        running.outputs = [output.enlarged(capacity) for output in running.outputs]
        self._point(column)
        self.whole[self.topology.at.case_status, column] = MARCHING

    def release(self, column: int) -> None:
        """Give a case's lanes back; they idle on its last state until the next case."""
        at = self.topology.at
        self.whole[at.case_status, column] = 0
        running = self._running.pop(column)
        self.whole[at.case, column : column + len(running.outputs)] = _IDLE
        # idle lanes still read the surfaces they last held
        self._alive = [*self._alive[-WIDTH:], running]

    def where_stalled(self, column: int) -> str:
        """Return when a case stalled and how far it had come."""
        at = self.topology.at
        time, length = self.rows[at.case_time, column], self.rows[at.case_tried, column]
        return f"at {time:.4g} s, step {length:.3g} s, after {self.whole[at.case_steps, column]} steps"

    def histories(self, column: int) -> tuple[History, ...]:
        """Return what a finished case's lanes recorded."""
        running = self._running[column]
        return tuple(
            self._history(running, state=state, column=column) for state in range(len(running.outputs))
        )

    def _history(self, running: _Running, *, state: int, column: int) -> History:
        at, rows, whole, lane = self.topology.at, self.rows, self.whole, column + state
        output, model = running.outputs[state], running.case.models[state]
        count, nodes = int(whole[at.case_rows, column]), at.nodes
        trace = output.trace[:count]
        evaporated = np.zeros((count, nodes))
        boiling = self.topology.index[at.boiling_node : at.boiling_node + at.boiling_nodes]
        if model.node_tables.boils and output.boiled[:count].any():
            evaporated[:, boiling] = output.boiled[:count, : boiling.size]
        sinks = len(running.case.sinks)
        ends = np.cumsum([2, sinks, at.borders - 2 - sinks, at.sums - at.borders, at.regions, at.regions])
        crossed, sunk, condensed, pocket, sensible, latent = np.split(trace, ends, axis=1)[:6]
        condensed = condensed.sum(axis=1)
        gained = self._column(at.enthalpy, nodes, lane) - self._column(at.first_enthalpy, nodes, lane)
        stored = float(gained @ model.volume) - float(condensed[-1])
        if model.enclosure is not None:
            stored += model.enclosure.heat_capacity * float(pocket[-1, 0] - pocket[0, 0])
        # nothing has left the last instant
        output.leaving[count - 1] = output.warming[count - 1]
        net, gross = float(rows[at.net, lane]), float(rows[at.gross, lane])
        scale = balance_scale(gross, capacity=_capacity(model, running))
        return History(
            time=_closed(running.times[:count]),
            temperature=_closed(output.temperature[:count, :nodes]),
            slope=_closed(output.warming[:count, :nodes]),
            slope_after=_closed(output.leaving[:count, :nodes]),
            highest=_closed(self._column(at.highest, nodes, lane)),
            evaporated=_closed(evaporated),
            regions=model.regions,
            sensible=_closed(sensible.copy()),
            latent=_closed(latent.copy()),
            condensed=_closed(condensed),
            pocket=None if model.enclosure is None else _closed(pocket[:, 0].copy()),
            convected=_closed(crossed[:, 0].copy()),
            radiated=_closed(crossed[:, 1].copy()),
            sunk=_closed(sunk.copy()),
            closure=(stored - float(crossed[-1].sum() + sunk[-1].sum())) / scale,
            balance=(stored - net) / scale,
            steps=int(whole[at.case_steps, column]),
            rejected=int(whole[at.case_rejected, column]),
        )

    def _column(self, place: int, count: int, lane: int) -> FloatArray:
        return self.rows[place : place + count, lane].copy()


def _closed(array: FloatArray) -> FloatArray:
    array.flags.writeable = False
    return array


def _capacity(model: HeatModel, running: _Running) -> float:
    """Return the heat that warms the body by 1 K [J/K]; an insulated body's balance is of it."""
    start = running.case.start
    enthalpy, evaporated = start_enthalpy(start, tables=model.tables, node_material=model.node_material)
    slope = model.node_tables.look_up(enthalpy - evaporated).temperature_slope
    return float(model.volume @ (1.0 / slope))
