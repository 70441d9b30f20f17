"""One RODAS3 step of eight lanes, each of its own length; the stages are those of ``rodas``."""

from optitip.arrays import FloatArray, IntArray
from optitip.solvers.compiled_band import GROUP, factorise, solve
from optitip.solvers.compiled_layout import Places
from optitip.solvers.compiled_rates import put_trial, rate_of_trial
from optitip.solvers.compiled_surface import larger, set_instants
from optitip.solvers.lanes import choose, compiled, entry, load, root, spread, store
from optitip.solvers.march import BEND
from optitip.solvers.rodas import GAMMA


@compiled
def _answer(rows: FloatArray, at: Places, node: int, rise: FloatArray) -> FloatArray:
    """Return a node's answer in x: the band's own, and what the pocket's adds (nothing without one)."""
    return load(rows, at.solved + node) + rise * load(rows, at.pocket_gain + node)


@compiled
def _rise(rows: FloatArray, index: IntArray, at: Places) -> FloatArray:
    """Return the pocket's own answer, which is its gain too; nought without a pocket."""
    if at.faces == 0:
        return spread(0.0)
    rise = load(rows, at.right_sum + at.borders)
    for turn in range(at.faces):
        rise = rise + load(rows, at.by_face + turn) * load(rows, at.solved + entry(index, at.face + turn))
    rise = rise / load(rows, at.pocket_pivot)
    store(rows, at.right_sum + at.borders, rise)
    return rise


@compiled
def _lost(rows: FloatArray, index: IntArray, at: Places) -> FloatArray:
    """Make of ``right_sum`` the sums' gains, by what the borders lose; return the pocket's."""
    rise, convected, radiated = _rise(rows, index, at), spread(0.0), spread(0.0)
    for turn in range(at.outers):
        x = _answer(rows, at, entry(index, at.outer + turn), rise)
        convected = convected + load(rows, at.border_loss + 2 * turn) * x
        radiated = radiated + load(rows, at.border_loss + 2 * turn + 1) * x
    store(rows, at.right_sum, load(rows, at.right_sum) - convected)
    store(rows, at.right_sum + 1, load(rows, at.right_sum + 1) - radiated)
    for turn in range(at.sink_nodes):
        lost = load(rows, at.border_loss + 2 * at.outers + turn)
        lost = lost * _answer(rows, at, entry(index, at.sink + turn), rise)
        place = at.right_sum + entry(index, at.sink_border + turn)
        store(rows, place, load(rows, place) - lost)
    length = spread(GAMMA) * load(rows, at.length)
    for border in range(at.borders):
        store(rows, at.right_sum + border, load(rows, at.right_sum + border) * length)
    return rise


@compiled
def _kick(rows: FloatArray, index: IntArray, at: Places, share: float) -> None:
    """Add the rate's own slope in time to the right-hand side."""
    length = spread(share) * load(rows, at.length)
    for turn in range(at.outers):
        place = at.right + entry(index, at.outer + turn)
        store(rows, place, load(rows, place) + length * load(rows, at.rate_slope + turn))
    for border in range(at.sums):
        place = at.right_sum + border
        store(rows, place, load(rows, place) + length * load(rows, at.rate_slope_sum + border))


@compiled
def _first_stage(rows: FloatArray, index: IntArray, at: Places) -> FloatArray:
    for node in range(at.nodes):
        store(rows, at.right + node, load(rows, at.rate + node))
    for border in range(at.sums):
        store(rows, at.right_sum + border, load(rows, at.rate_sum + border))
    _kick(rows, index, at, 0.5)
    _clear_pad(rows, at, at.right)
    if at.faces > 0:
        _pocket_column(rows, index, at)
    factorise(rows, index, at, at.faces > 0)
    if at.faces > 0:
        _pocket_pivot(rows, index, at)
    return _lost(rows, index, at)


@compiled
def _clear_pad(rows: FloatArray, at: Places, place: int) -> None:
    for node in range(at.nodes, GROUP * at.column_groups):
        store(rows, place + node, spread(0.0))


@compiled
def _pocket_column(rows: FloatArray, index: IntArray, at: Places) -> None:
    """Write the column of the pocket that borders the matrix."""
    for node in range(at.nodes):
        store(rows, at.column + node, spread(0.0))
    _clear_pad(rows, at, at.column)
    for turn in range(at.faces):
        store(rows, at.column + entry(index, at.face + turn), load(rows, at.by_pocket + turn))


@compiled
def _pocket_pivot(rows: FloatArray, index: IntArray, at: Places) -> None:
    """Take what is left of the pocket's own diagonal when the nodes are eliminated."""
    pivot = load(rows, at.sum_mass + at.borders) / (spread(GAMMA) * load(rows, at.length))
    for turn in range(at.faces):
        gain = load(rows, at.pocket_gain + entry(index, at.face + turn))
        pivot = pivot + load(rows, at.by_pocket + turn) - load(rows, at.by_face + turn) * gain
    store(rows, at.pocket_pivot, pivot)


@compiled
def _second_stage(rows: FloatArray, index: IntArray, at: Places, rise: FloatArray) -> FloatArray:
    per_length = spread(4.0) / load(rows, at.length)
    for node in range(at.nodes):
        gain = _answer(rows, at, node, rise) * load(rows, at.enthalpy_per_x + node)
        store(rows, at.first_gain + node, gain)
        mass = load(rows, at.volume + node) * per_length
        store(rows, at.right + node, load(rows, at.rate + node) + mass * gain)
    for border in range(at.sums):
        gain = load(rows, at.right_sum + border)
        store(rows, at.first_gain_sum + border, gain)
        held = load(rows, at.sum_mass + border) * per_length * gain
        store(rows, at.right_sum + border, load(rows, at.rate_sum + border) + held)
    _kick(rows, index, at, 1.5)
    return _solve(rows, index, at)


@compiled
def _solve(rows: FloatArray, index: IntArray, at: Places) -> FloatArray:
    _clear_pad(rows, at, at.right)
    solve(rows, index, at)
    return _lost(rows, index, at)


@compiled
def _third_stage(
    rows: FloatArray,
    whole: IntArray,
    index: IntArray,
    at: Places,
    absorbs: bool,
    held: bool,
    rise: FloatArray,
) -> FloatArray:
    two, four, per_length = spread(2.0), spread(4.0), spread(1.0) / load(rows, at.length)
    for node in range(at.nodes):
        first = load(rows, at.first_gain + node)
        second = _answer(rows, at, node, rise) * load(rows, at.enthalpy_per_x + node)
        # how fast the node warms just after the start, as in ``rodas``
        leaving = (four * first + (first - second)) * per_length * load(rows, at.temperature_slope + node)
        if entry(index, at.boils + entry(index, at.material + node)) != 0:
            leaving = leaving * load(rows, at.boiling + node)
        store(rows, at.leaving + node, leaving)
        store(rows, at.mixed + node, first - second)
        put_trial(rows, whole, index, at, node, load(rows, at.enthalpy + node) + two * first)
    for border in range(at.sums):
        first = load(rows, at.first_gain_sum + border)
        store(rows, at.trial_sum + border, load(rows, at.crossed + border) + two * first)
        store(rows, at.mixed_sum + border, first - load(rows, at.right_sum + border))
    return _late_stage(rows, whole, index, at, absorbs, held)


@compiled
def _late_stage(
    rows: FloatArray, whole: IntArray, index: IntArray, at: Places, absorbs: bool, held: bool
) -> FloatArray:
    """Solve for the rate at the trial state and what the stages before left mixed."""
    rate_of_trial(rows, whole, index, at, absorbs, held)
    per_length = spread(1.0) / load(rows, at.length)
    for border in range(at.sums):
        mixed = load(rows, at.sum_mass + border) * per_length * load(rows, at.mixed_sum + border)
        store(rows, at.right_sum + border, load(rows, at.right_sum + border) + mixed)
    return _solve(rows, index, at)


@compiled
def _fourth_stage(
    rows: FloatArray,
    whole: IntArray,
    index: IntArray,
    at: Places,
    absorbs: bool,
    held: bool,
    rise: FloatArray,
) -> FloatArray:
    share = spread(8.0 / 3.0)
    for node in range(at.nodes):
        gain = _answer(rows, at, node, rise) * load(rows, at.enthalpy_per_x + node)
        store(rows, at.mixed + node, load(rows, at.mixed + node) - share * gain)
        put_trial(rows, whole, index, at, node, load(rows, at.trial + node) + gain)
    for border in range(at.sums):
        gain = load(rows, at.right_sum + border)
        store(rows, at.trial_sum + border, load(rows, at.trial_sum + border) + gain)
        store(rows, at.mixed_sum + border, load(rows, at.mixed_sum + border) - share * gain)
    return _late_stage(rows, whole, index, at, absorbs, held)


@compiled
def _size(value: FloatArray) -> FloatArray:
    return larger(value, spread(0.0) - value)


@compiled
def _last_gain(rows: FloatArray, index: IntArray, at: Places, rise: FloatArray) -> None:
    """Add the last stage, which is also the error, to the trial state; its kelvins go into ``right``.

    Where the cubic between the step's ends bends by more than ``BEND`` times them, its bend over that does.
    """
    length, two = load(rows, at.length), spread(2.0)
    per_gamma, per_bend = spread(1.0 / GAMMA), spread(1.0 / BEND)
    for node in range(at.nodes):
        gain = _answer(rows, at, node, rise) * load(rows, at.enthalpy_per_x + node)
        after = load(rows, at.trial + node) + gain
        store(rows, at.last + node, gain)
        store(rows, at.trial + node, after)
        kelvin = load(rows, at.temperature_slope + node)
        least = load(rows, at.least_slope + entry(index, at.material + node))
        wrong = _size(gain * larger(kelvin, least))
        if entry(index, at.boils + entry(index, at.material + node)) != 0:
            kelvin = kelvin * load(rows, at.boiling + node)
        bend = gain * per_gamma - load(rows, at.mixed + node) - two * (after - load(rows, at.enthalpy + node))
        bend = _size(bend * kelvin + length * load(rows, at.leaving + node)) * per_bend
        # only what is no number fails this, and stays
        store(rows, at.right + node, choose(bend <= wrong, wrong, bend))
    for border in range(at.sums):
        gain = load(rows, at.right_sum + border)
        store(rows, at.last_sum + border, gain)
        store(rows, at.trial_sum + border, load(rows, at.trial_sum + border) + gain)


@compiled
def worst_region(rows: FloatArray, index: IntArray, at: Places, source: int) -> FloatArray:
    """Return the root mean square over the worst region of the values at ``source``; no number stays none."""
    worst = spread(0.0)
    for region in range(at.regions):
        total = spread(0.0)
        for turn in range(entry(index, at.region_start + region), entry(index, at.region_start + region + 1)):
            value = load(rows, source + entry(index, at.region_node + turn))
            total = total + value * value
        mean = total * load(rows, at.region_weight + region)
        larger_one = choose(mean <= worst, worst, mean)
        # only what is no number fails this, and stays
        worst = choose(worst >= spread(0.0), larger_one, worst)
    return root(worst)


@compiled
def attempt(rows: FloatArray, whole: IntArray, index: IntArray, at: Places, absorbs: bool) -> None:
    """Take one step of every lane to its own end and say how wrong it is."""
    rise = _first_stage(rows, index, at)
    rise = _second_stage(rows, index, at, rise)
    store(rows, at.instant, load(rows, at.end))
    held = set_instants(rows, whole, at, False)
    rise = _third_stage(rows, whole, index, at, absorbs, held, rise)
    rise = _fourth_stage(rows, whole, index, at, absorbs, held, rise)
    _last_gain(rows, index, at, rise)
    worst = worst_region(rows, index, at, at.right)
    if at.faces > 0:
        pocket = load(rows, at.last_sum + at.borders)
        pocket = _size(pocket)
        worst = choose(pocket <= worst, worst, pocket)
    store(rows, at.error, worst)
