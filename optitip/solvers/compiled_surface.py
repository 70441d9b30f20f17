"""The heat through the outer surface in eight lanes: each lane its own table, instant and wall temperatures.

q = film(t, T) (recovery(t) - T) + emissivity sigma (surroundings(t)^4 - T^4) + absorbed(t)
"""

from optitip.arrays import FloatArray, IntArray
from optitip.solvers.compiled_layout import Places
from optitip.solvers.lanes import (
    WIDTH,
    anywhere,
    choose,
    compiled,
    gather,
    load,
    load_whole,
    number_at,
    ones_where,
    spread,
    spread_whole,
    store,
    truncated,
)

# a wall column's entry: where it begins, one over its width, its bounds: above, below (the outer ones: none)
_WALL_BYTES = 32
# what is held of a cell: begin, one over width, bounds below and above, films and recovery with their rises
HELD = 10


@compiled
def smaller(first: FloatArray, second: FloatArray) -> FloatArray:
    """Return the smaller of each; the second where either is no number."""
    return choose(first < second, first, second)


@compiled
def larger(first: FloatArray, second: FloatArray) -> FloatArray:
    """Return the larger of each; the second where either is no number."""
    return choose(first > second, first, second)


@compiled
def hold_instants(rows: FloatArray, whole: IntArray, at: Places) -> None:
    """Set every lane's table to its own time, just after it, and turn to the other set of held cells."""
    turned = 1 - whole[at.held_set, 0]
    whole[at.held_set, 0] = turned
    for lane in range(WIDTH):
        time, times = rows[at.time, lane], whole[at.time_address, lane]
        last = whole[at.times, lane] - 1
        row = _row(whole, at, lane, time, whole[at.held_row + 1 - turned, lane])
        whole[at.held_row + turned, lane] = row
        within = number_at(times) <= time < number_at(times + 8 * last)
        step = _set_row(rows, whole, at, lane, row, time)
        rows[at.slope_scale, lane] = 1.0 / step if within else 0.0


@compiled
def set_instants(rows: FloatArray, whole: IntArray, at: Places, before: bool) -> bool:
    """Set every lane's table to ``instant``; True if all lanes' cells held then, or before, hold still.

    At a knot either side serves: the row that is held is kept as long as it can be.
    """
    held = True
    turned = 1 - whole[at.held_set, 0] if before else whole[at.held_set, 0]
    for lane in range(WIDTH):
        time, row = rows[at.instant, lane], whole[at.held_row + turned, lane]
        times, last = whole[at.time_address, lane], whole[at.times, lane] - 1
        early = row > 0 and time < number_at(times + 8 * row)
        late = row < last - 1 and time > number_at(times + 8 * (row + 1))
        if early or late:
            held, row = False, _row(whole, at, lane, time, row)
        _set_row(rows, whole, at, lane, row, time)
    return held


@compiled
def held_cells(whole: IntArray, at: Places, before: bool) -> int:
    """Return where the cells stand that were held at the last linearisation, or at the one before."""
    turned: int = 1 - whole[at.held_set, 0] if before else whole[at.held_set, 0]
    return at.held + turned * HELD * at.outers


@compiled
def _row(whole: IntArray, at: Places, lane: int, time: float, row: int) -> int:
    """Return the row of a lane's table that a time lies in, looked for from a row on."""
    times, last = whole[at.time_address, lane], whole[at.times, lane] - 1
    while row < last - 1 and number_at(times + 8 * (row + 1)) <= time:
        row += 1
    while row > 0 and number_at(times + 8 * row) > time:
        row -= 1
    return row


@compiled
def _set_row(rows: FloatArray, whole: IntArray, at: Places, lane: int, row: int, time: float) -> float:
    """Set a lane's table to a time in a row; return the row's length [s]."""
    times = whole[at.time_address, lane]
    following = min(row + 1, whole[at.times, lane] - 1)
    before = number_at(times + 8 * row)
    step = number_at(times + 8 * following) - before
    if step == 0.0:
        step = 1.0
    share = min(max((time - before) / step, 0.0), 1.0)
    rows[at.share, lane] = share
    _set_rows(rows, whole, at, lane, row, following, share)
    return step


@compiled
def _set_rows(
    rows: FloatArray, whole: IntArray, at: Places, lane: int, row: int, following: int, share: float
) -> None:
    film, film_bytes = whole[at.film_address, lane], whole[at.film_bytes, lane]
    whole[at.film_here, lane] = film + row * film_bytes
    whole[at.film_following, lane] = film + following * film_bytes
    width = 8 * at.outers
    recovery, absorbed = whole[at.recovery_address, lane], whole[at.absorbed_address, lane]
    whole[at.recovery_here, lane] = recovery + row * width
    whole[at.recovery_following, lane] = recovery + following * width
    whole[at.absorbed_here, lane] = absorbed + row * width
    whole[at.absorbed_following, lane] = absorbed + following * width
    around = whole[at.around_address, lane]
    before = number_at(around + 8 * row)
    rise = number_at(around + 8 * following) - before
    rows[at.around, lane] = before + share * rise
    rows[at.around_rise, lane] = rise


@compiled
def _cell(
    rows: FloatArray, whole: IntArray, at: Places, wall: FloatArray
) -> tuple[IntArray, FloatArray, FloatArray, FloatArray, IntArray]:
    """Return how far into a node's films the wall's column lies [bytes], the share past it, its entry."""
    bucket = (wall - load(rows, at.bucket_origin)) * load(rows, at.bucket_scale)
    bucket = smaller(larger(bucket, spread(0.0)), load(rows, at.bucket_last))
    place = load_whole(whole, at.bucket_table) + truncated(bucket) * spread_whole(8)
    column, table = truncated(gather(place, 0)), load_whole(whole, at.wall_table)
    for _ in range(at.wall_steps):
        column = column + ones_where(wall >= gather(table + column * spread_whole(_WALL_BYTES), 16))
    cell = table + column * spread_whole(_WALL_BYTES)
    per_kelvin = gather(cell, 8)
    begin = gather(cell, 0)
    share = (wall - begin) * per_kelvin
    return column * spread_whole(8), share, per_kelvin, begin, cell


@compiled
def _held(share: FloatArray) -> FloatArray:
    return smaller(larger(share, spread(0.0)), spread(1.0))


@compiled
def _radiated(
    rows: FloatArray, whole: IntArray, at: Places, turn: int, wall: FloatArray, absorbs: bool
) -> FloatArray:
    around, squared = load(rows, at.around), wall * wall
    around = around * around
    heat = load(rows, at.radiator + turn) * (around * around - squared * squared)
    if absorbs:
        before = gather(load_whole(whole, at.absorbed_here), 8 * turn)
        rise = gather(load_whole(whole, at.absorbed_following), 8 * turn) - before
        heat = heat + load(rows, at.area + turn) * (before + load(rows, at.share) * rise)
    return heat


@compiled
def _gathered(
    rows: FloatArray, whole: IntArray, at: Places, turn: int, wall: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Return film and recovery at the instant set, from the tables."""
    column, share, _, _, _ = _cell(rows, whole, at, wall)
    node = load_whole(whole, at.film_node_bytes) * spread_whole(turn) + column
    here, following = load_whole(whole, at.film_here) + node, load_whole(whole, at.film_following) + node
    passed = load(rows, at.share)
    left, right = gather(here, 0), gather(here, 8)
    left = left + passed * (gather(following, 0) - left)
    right = right + passed * (gather(following, 8) - right)
    recovery = gather(load_whole(whole, at.recovery_here), 8 * turn)
    recovery = recovery + passed * (gather(load_whole(whole, at.recovery_following), 8 * turn) - recovery)
    return left + _held(share) * (right - left), recovery


@compiled
def surface_heat(
    rows: FloatArray,
    whole: IntArray,
    at: Places,
    turn: int,
    wall: FloatArray,
    absorbs: bool,
    held: bool,
    cells: int,
) -> tuple[FloatArray, FloatArray]:
    """Return the convected and radiated heat into an outer node [W] at the instant set.

    held: whether the cells at ``cells`` are of the rows set; then those serve while no wall has left its own.
    """
    cell, passed = cells + HELD * turn, load(rows, at.share)
    left_its_own = (wall < load(rows, cell + 2)) | (wall >= load(rows, cell + 3))
    if held and not anywhere(left_its_own):
        share = _held((wall - load(rows, cell)) * load(rows, cell + 1))
        left = load(rows, cell + 4) + passed * load(rows, cell + 5)
        right = load(rows, cell + 6) + passed * load(rows, cell + 7)
        film = left + share * (right - left)
        recovery = load(rows, cell + 8) + passed * load(rows, cell + 9)
    else:
        film, recovery = _gathered(rows, whole, at, turn, wall)
    heat = film * load(rows, at.area + turn) * (recovery - wall)
    return heat, _radiated(rows, whole, at, turn, wall, absorbs)


@compiled
def surface_slopes(
    rows: FloatArray, whole: IntArray, at: Places, turn: int, wall: FloatArray, absorbs: bool
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray, FloatArray, FloatArray]:
    """Return both heats [W], both losses per kelvin of wall [W/K], at least 0, both gains a second [W/s].

    The cell of table and wall is held for what follows.
    """
    column, share, per_kelvin, begin, bounds = _cell(rows, whole, at, wall)
    node = load_whole(whole, at.film_node_bytes) * spread_whole(turn) + column
    here, following = load_whole(whole, at.film_here) + node, load_whole(whole, at.film_following) + node
    held, passed, nothing = _held(share), load(rows, at.share), spread(0.0)
    left, right = gather(here, 0), gather(here, 8)
    left_rise, right_rise = gather(following, 0) - left, gather(following, 8) - right
    cell = held_cells(whole, at, False) + HELD * turn
    store(rows, cell, begin)
    store(rows, cell + 1, per_kelvin)
    store(rows, cell + 2, gather(bounds, 24))
    store(rows, cell + 3, gather(bounds, 16))
    store(rows, cell + 4, left)
    store(rows, cell + 5, left_rise)
    store(rows, cell + 6, right)
    store(rows, cell + 7, right_rise)
    left, right = left + passed * left_rise, right + passed * right_rise
    film = left + held * (right - left)
    recovery = gather(load_whole(whole, at.recovery_here), 8 * turn)
    recovery_rise = gather(load_whole(whole, at.recovery_following), 8 * turn) - recovery
    store(rows, cell + 8, recovery)
    store(rows, cell + 9, recovery_rise)
    gap = recovery + passed * recovery_rise - wall
    area, scale = load(rows, at.area + turn), load(rows, at.slope_scale)
    in_time = (left_rise + held * (right_rise - left_rise)) * gap + film * recovery_rise
    # where the table ends the film is held, and no longer follows the wall
    bend = choose(held == share, (right - left) * per_kelvin, nothing)
    loss = larger(film - bend * gap, nothing) * area
    radiator, around = load(rows, at.radiator + turn), load(rows, at.around)
    warmer = spread(4.0) * around * around * around * load(rows, at.around_rise) * radiator
    if absorbs:
        before = gather(load_whole(whole, at.absorbed_here), 8 * turn)
        warmer = warmer + area * (gather(load_whole(whole, at.absorbed_following), 8 * turn) - before)
    radiated_loss = spread(4.0) * radiator * (wall * wall * wall)
    radiated = _radiated(rows, whole, at, turn, wall, absorbs)
    return film * area * gap, radiated, loss, radiated_loss, in_time * area * scale, warmer * scale
