"""What each accepted instant of eight lanes leaves: temperatures, slopes, sums, peaks, a second account."""

from math import sqrt

from optitip.arrays import FloatArray, IntArray
from optitip.solvers.compiled_layout import Places
from optitip.solvers.compiled_surface import held_cells, larger, set_instants, smaller, surface_heat
from optitip.solvers.compiled_verdict import FULL, MARCHING, first_lengths
from optitip.solvers.lanes import (
    WIDTH,
    anywhere,
    choose,
    compiled,
    entry,
    load,
    put_number,
    root,
    spread,
    store,
    store_across,
)
from optitip.solvers.rodas import GAMMA

_REACH = sqrt(0.6)


@compiled
def keep(rows: FloatArray, whole: IntArray, index: IntArray, at: Places, absorbs: bool) -> bool:
    """Record the lanes whose case just took a step or begins; False, nothing done, where one lacks room."""
    any_fresh, any_young = False, False
    for case in range(WIDTH):
        if whole[at.case_status, case] == MARCHING and whole[at.case_fresh, case] != 0:
            any_fresh = True
            any_young = any_young or whole[at.case_rows, case] == 0
            if whole[at.case_rows, case] >= whole[at.case_capacity, case]:
                whole[at.case_status, case] = FULL
    for case in range(WIDTH):
        if whole[at.case_status, case] == FULL:
            return False
    if any_fresh:
        _mark(rows, whole, at)
        store(rows, at.per_length, spread(1.0) / load(rows, at.length))
        if any_young:
            first_lengths(rows, whole, index, at)
        _border_heat(rows, whole, index, at, absorbs)
        _warming(rows, index, at, any_young)
        _trace(rows, index, at)
        _put(rows, whole, index, at)
        for case in range(WIDTH):
            if whole[at.case_fresh, case] != 0:
                row = whole[at.instants_address, case] + 8 * whole[at.case_rows, case]
                put_number(row, rows[at.case_time, case])
                whole[at.case_rows, case] += 1
                whole[at.case_fresh, case] = 0
    return True


@compiled
def _mark(rows: FloatArray, whole: IntArray, at: Places) -> None:
    """Say which lanes are fresh, which are young, and where each lane's next row goes."""
    for lane in range(WIDTH):
        case, scratch = whole[at.case, lane], whole[at.scratch_address, lane]
        fresh = case >= 0 and whole[at.case_status, case] == MARCHING and whole[at.case_fresh, case] != 0
        row = whole[at.case_rows, case] if fresh else 0
        rows[at.fresh, lane] = 1.0 if fresh else 0.0
        rows[at.young, lane] = 1.0 if fresh and row == 0 else 0.0
        nodes = -(-at.nodes // WIDTH) * WIDTH
        boiled = -(-at.boiling_nodes // WIDTH) * WIDTH
        trace = -(-at.trace_size // WIDTH) * WIDTH
        whole[at.put_temperature, lane] = (
            whole[at.temperature_address, lane] + 8 * nodes * row if fresh else scratch
        )
        whole[at.put_warming, lane] = whole[at.warming_address, lane] + 8 * nodes * row if fresh else scratch
        # a step's slope at its start belongs to the instant before
        left = fresh and row > 0
        whole[at.put_leaving, lane] = (
            whole[at.leaving_address, lane] + 8 * nodes * (row - 1) if left else scratch
        )
        whole[at.put_trace, lane] = whole[at.trace_address, lane] + 8 * trace * row if fresh else scratch
        whole[at.put_evaporated, lane] = (
            whole[at.boiled_address, lane] + 8 * boiled * row if fresh else scratch
        )


@compiled
def _slope(rows: FloatArray, index: IntArray, at: Places, node: int) -> FloatArray:
    """Return how fast a node warms [K/s] by the last stage; at the start of a case, by the rate."""
    slope = load(rows, at.last + node) * spread(1.0 / GAMMA) - load(rows, at.mixed + node)
    slope = slope * load(rows, at.per_length) * load(rows, at.temperature_slope + node)
    if entry(index, at.boils + entry(index, at.material + node)) != 0:
        slope = slope * load(rows, at.boiling + node)
    return slope


@compiled
def _first_slope(rows: FloatArray, index: IntArray, at: Places, node: int) -> FloatArray:
    slope = load(rows, at.rate + node) / load(rows, at.volume + node)
    slope = slope * load(rows, at.temperature_slope + node)
    if entry(index, at.boils + entry(index, at.material + node)) != 0:
        slope = slope * load(rows, at.boiling + node)
    return slope


@compiled
def _warming(rows: FloatArray, index: IntArray, at: Places, any_young: bool) -> None:
    """Take how fast each node of the fresh lanes warms; raise the peaks."""
    young, fresh = load(rows, at.young) > spread(0.0), load(rows, at.fresh) > spread(0.0)
    nothing = spread(0.0)
    for node in range(at.nodes):
        slope, before = _slope(rows, index, at, node), load(rows, at.leaving + node)
        if any_young:
            slope = choose(young, _first_slope(rows, index, at, node), slope)
        now, highest = load(rows, at.temperature + node), load(rows, at.highest + node)
        highest = choose(young, now, larger(now, highest))
        turned = (before > nothing) & (slope < nothing) & fresh
        if anywhere(turned):
            inside = _peak(rows, at, node, slope)
            highest = choose(turned, larger(inside, highest), highest)
        store(rows, at.warming + node, slope)
        store(rows, at.before_temperature + node, now)
        store(rows, at.highest + node, highest)
    store(rows, at.before_time, choose(fresh, load(rows, at.time), load(rows, at.before_time)))


@compiled
def _peak(rows: FloatArray, at: Places, node: int, slope: FloatArray) -> FloatArray:
    """Return the maximum of the cubic through both ends of a step, as ``dense.peak`` does."""
    length = load(rows, at.time) - load(rows, at.before_time)
    before = load(rows, at.before_temperature + node)
    rise = load(rows, at.temperature + node) - before
    first, last = load(rows, at.leaving + node) * length, slope * length
    cubic = first + last - spread(2.0) * rise
    square = spread(3.0) * rise - spread(2.0) * first - last
    nothing = spread(0.0)
    bent = root(larger(square * square - spread(3.0) * cubic * first, nothing))
    share = choose(bent > square, first / (bent - square), nothing)
    share = smaller(share, spread(1.0))
    return before + share * (first + share * (square + share * cubic))


@compiled
def _trace(rows: FloatArray, index: IntArray, at: Places) -> None:
    """Lay out the instant's sums: what crossed each border, then each region's sensible and latent heat."""
    for border in range(at.sums):
        store(rows, at.trace + border, load(rows, at.crossed + border))
    place = at.trace + at.sums
    for region in range(at.regions):
        sensible = latent = spread(0.0)
        for turn in range(entry(index, at.region_start + region), entry(index, at.region_start + region + 1)):
            node = entry(index, at.region_node + turn)
            volume = load(rows, at.region_volume + turn)
            taken = load(rows, at.enthalpy + node) - load(rows, at.first_enthalpy + node)
            if entry(index, at.boils + entry(index, at.material + node)) != 0:
                boiled = load(rows, at.evaporated + node) - load(rows, at.first_evaporated + node)
                latent = latent + boiled * volume
                taken = taken - boiled
            sensible = sensible + taken * volume
        store(rows, place + region, sensible)
        store(rows, place + at.regions + region, latent)


@compiled
def _put(rows: FloatArray, whole: IntArray, index: IntArray, at: Places) -> None:
    for node in range(0, at.nodes, WIDTH):
        store_across(rows, at.temperature + node, whole, at.put_temperature, 8 * node)
        store_across(rows, at.warming + node, whole, at.put_warming, 8 * node)
        store_across(rows, at.leaving + node, whole, at.put_leaving, 8 * node)
    for turn in range(0, at.trace_size, WIDTH):
        store_across(rows, at.trace + turn, whole, at.put_trace, 8 * turn)
    for turn in range(at.boiling_nodes):
        store(rows, at.put_boiled + turn, load(rows, at.evaporated + entry(index, at.boiling_node + turn)))
    for turn in range(0, at.boiling_nodes, WIDTH):
        store_across(rows, at.put_boiled + turn, whole, at.put_evaporated, 8 * turn)


@compiled
def _between(
    rows: FloatArray, at: Places, node: int, slope: int, length: FloatArray, share: FloatArray
) -> FloatArray:
    """Return a node's temperature at a share of the last step, on the cubic of ``dense.between_steps``."""
    before = load(rows, at.before_temperature + node)
    rise = load(rows, at.temperature + node) - before
    rest = spread(1.0) - share
    bend_before = load(rows, at.leaving + node) * length - rise
    bend_after = rise - load(rows, slope) * length
    bend = rest * bend_before + share * bend_after
    return before + share * (rise + rest * bend)


@compiled
def _size(value: FloatArray) -> FloatArray:
    return larger(value, spread(0.0) - value)


@compiled
def _border_heat(rows: FloatArray, whole: IntArray, index: IntArray, at: Places, absorbs: bool) -> None:
    """Integrate the borders' heat over the step afresh, at three Gauss points, as ``balance`` does."""
    fresh, nothing = load(rows, at.fresh) > spread(0.0), spread(0.0)
    young = load(rows, at.young) > nothing
    length = load(rows, at.time) - load(rows, at.before_time)
    counted = choose(fresh, choose(young, nothing, length), nothing)
    cells, ends = held_cells(whole, at, True), at.edge_warming + at.outers
    for turn in range(at.outers):
        store(rows, at.edge_warming + turn, _slope(rows, index, at, entry(index, at.outer + turn)))
    for turn in range(at.sink_nodes - at.colds):
        store(rows, ends + turn, _slope(rows, index, at, entry(index, at.sink + turn)))
    for point in range(3):
        share = spread(0.5 + 0.5 * (point - 1) * _REACH)
        weight = counted * spread(8.0 / 18.0 if point == 1 else 5.0 / 18.0)
        store(rows, at.instant, load(rows, at.before_time) + length * share)
        held = set_instants(rows, whole, at, True)
        net = gross = nothing
        for turn in range(at.outers):
            wall = _between(rows, at, entry(index, at.outer + turn), at.edge_warming + turn, length, share)
            film, radiated = surface_heat(rows, whole, at, turn, wall, absorbs, held, cells)
            net, gross = net + film + radiated, gross + _size(film) + _size(radiated)
        for turn in range(at.sink_nodes - at.colds):
            there = _between(rows, at, entry(index, at.sink + turn), ends + turn, length, share)
            heat = load(rows, at.sink_conductance + turn) * (load(rows, at.sink_temperature + turn) - there)
            net, gross = net + heat, gross + _size(heat)
        store(rows, at.net, load(rows, at.net) + choose(weight > nothing, weight * net, nothing))
        store(rows, at.gross, load(rows, at.gross) + choose(weight > nothing, weight * gross, nothing))
