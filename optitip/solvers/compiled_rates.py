"""The body's rate and its linearisation in eight lanes: look-ups, joints, borders, conduction.

The equations are those of ``system``; each function here says a part of it for one node, pair or border.
"""

from optitip.arrays import FloatArray, IntArray
from optitip.solvers.compiled_layout import Places
from optitip.solvers.compiled_surface import (
    held_cells,
    hold_instants,
    larger,
    smaller,
    surface_heat,
    surface_slopes,
)
from optitip.solvers.enthalpy import BREAK, CELLS
from optitip.solvers.lanes import (
    as_numbers,
    choose,
    compiled,
    entry,
    gather,
    load,
    load_whole,
    root,
    spread,
    spread_whole,
    store,
    truncated,
)
from optitip.solvers.system import PLATEAU

_LAST_CELL = float(CELLS - 1)
_CELL_BYTES = 32


@compiled
def spent_heat(rows: FloatArray, at: Places, material: int, node: int, enthalpy: FloatArray) -> FloatArray:
    """Return the latent heat spent so far at a node that can boil [J/m3]."""
    over = enthalpy - load(rows, at.saturated + material)
    return larger(smaller(over, load(rows, at.latent + material)), load(rows, at.evaporated + node))


@compiled
def _cell_of(
    rows: FloatArray, index: IntArray, at: Places, node: int, sensible: FloatArray
) -> tuple[IntArray, FloatArray]:
    """Return the cell of a node's own table, and the share past its start, at an enthalpy."""
    material = entry(index, at.material + node)
    if entry(index, at.boils + material) != 0:
        sensible = sensible - spent_heat(rows, at, material, node, sensible)
    place = (sensible - load(rows, at.lowest + material)) * load(rows, at.per_spacing + material)
    cell = truncated(smaller(larger(place, spread(0.0)), spread(_LAST_CELL)))
    return cell, place - as_numbers(cell)


@compiled
def _table_place(
    rows: FloatArray, whole: IntArray, index: IntArray, at: Places, node: int, sensible: FloatArray
) -> tuple[IntArray, FloatArray]:
    """Return the address of a node's own entry of its table, and the share past it, at an enthalpy."""
    cell, share = _cell_of(rows, index, at, node, sensible)
    table = load_whole(whole, at.table + entry(index, at.material + node))
    return table + cell * spread_whole(_CELL_BYTES), share


@compiled
def temperature_of(
    rows: FloatArray, whole: IntArray, index: IntArray, at: Places, node: int, source: int
) -> FloatArray:
    """Return a node's temperature [K] at the enthalpies of ``source``."""
    address, share = _table_place(rows, whole, index, at, node, load(rows, source + node))
    return gather(address, 0) + share * gather(address, 8)


@compiled
def look_up(rows: FloatArray, whole: IntArray, index: IntArray, at: Places) -> None:
    """Take temperature, tau and their slopes of every node from its enthalpy."""
    for node in range(at.nodes):
        address, share = _table_place(rows, whole, index, at, node, load(rows, at.enthalpy + node))
        per_spacing = load(rows, at.per_spacing + entry(index, at.material + node))
        rise, tau_rise = gather(address, 8), gather(address, 24)
        store(rows, at.temperature + node, gather(address, 0) + share * rise)
        store(rows, at.tau + node, gather(address, 16) + share * tau_rise)
        store(rows, at.temperature_slope + node, rise * per_spacing)
        store(rows, at.tau_slope + node, tau_rise * per_spacing)


@compiled
def put_trial(
    rows: FloatArray, whole: IntArray, index: IntArray, at: Places, node: int, enthalpy: FloatArray
) -> None:
    """Write a node's trial enthalpy, and its tau there."""
    store(rows, at.trial + node, enthalpy)
    address, share = _table_place(rows, whole, index, at, node, enthalpy)
    store(rows, at.tau + node, gather(address, 16) + share * gather(address, 24))


@compiled
def conduct(rows: FloatArray, index: IntArray, at: Places, target: int, late: bool) -> None:
    """Write the heat that conduction brings to each node [W]; late, with what stages before left mixed."""
    per_length = spread(1.0) / load(rows, at.length)
    for node in range(at.nodes):
        heat = spread(0.0)
        if late:
            heat = load(rows, at.volume + node) * per_length * load(rows, at.mixed + node)
        begin, end = entry(index, at.product_start + node), entry(index, at.product_start + node + 1)
        for turn in range(at.product + 2 * begin, at.product + 2 * end, 2):
            tau = load(rows, at.tau + entry(index, turn + 1))
            heat = heat - load(rows, at.stiffness + entry(index, turn)) * tau
        store(rows, target + node, heat)


@compiled
def _gain(rows: FloatArray, place: int, heat: FloatArray) -> None:
    store(rows, place, load(rows, place) + heat)


@compiled
def _conductance(rows: FloatArray, at: Places, joint: int, first: FloatArray) -> FloatArray:
    gap = load(rows, at.joint_gap_rate + joint) * (first - load(rows, at.joint_gap_reference + joint))
    h, nothing, one = load(rows, at.joint_conductance + joint), spread(0.0), spread(1.0)
    return h / (one + h * larger(gap, nothing))


@compiled
def rate_of_trial(
    rows: FloatArray, whole: IntArray, index: IntArray, at: Places, absorbs: bool, held: bool
) -> None:
    """Write the rate at the trial state, and what is mixed, into ``right`` [W]; the surface is set.

    tau is there already.
    """
    conduct(rows, index, at, at.right, True)
    for joint in range(at.joints):
        first, second = entry(index, at.joint_first + joint), entry(index, at.joint_second + joint)
        hot = temperature_of(rows, whole, index, at, first, at.trial)
        cold = temperature_of(rows, whole, index, at, second, at.trial)
        heat = _conductance(rows, at, joint, hot) * load(rows, at.joint_area + joint) * (hot - cold)
        _gain(rows, at.right + first, spread(0.0) - heat)
        _gain(rows, at.right + second, heat)
    for border in range(at.borders):
        store(rows, at.right_sum + border, spread(0.0))
    convected = radiated = spread(0.0)
    cells = held_cells(whole, at, False)
    for turn in range(at.outers):
        node = entry(index, at.outer + turn)
        wall = temperature_of(rows, whole, index, at, node, at.trial)
        film, radiation = surface_heat(rows, whole, at, turn, wall, absorbs, held, cells)
        convected, radiated = convected + film, radiated + radiation
        _gain(rows, at.right + node, film + radiation)
    store(rows, at.right_sum, convected)
    store(rows, at.right_sum + 1, radiated)
    for turn in range(at.sink_nodes):
        node = entry(index, at.sink + turn)
        wall = temperature_of(rows, whole, index, at, node, at.trial)
        heat = load(rows, at.sink_conductance + turn) * (load(rows, at.sink_temperature + turn) - wall)
        _gain(rows, at.right + node, heat)
        _gain(rows, at.right_sum + entry(index, at.sink_border + turn), heat)
    if at.faces > 0:
        _face_trial(rows, whole, index, at)


@compiled
def _facing(rows: FloatArray, at: Places, turn: int, pocket: FloatArray, face: FloatArray) -> FloatArray:
    """Return the heat from the pocket into a face [W]."""
    hot, cold = pocket * pocket, face * face
    radiated = load(rows, at.face_radiator + turn) * (hot * hot - cold * cold)
    return load(rows, at.face_film + turn) * (pocket - face) + radiated


@compiled
def _face_trial(rows: FloatArray, whole: IntArray, index: IntArray, at: Places) -> None:
    pocket, given = load(rows, at.trial_sum + at.borders), spread(0.0)
    for turn in range(at.faces):
        node = entry(index, at.face + turn)
        heat = _facing(rows, at, turn, pocket, temperature_of(rows, whole, index, at, node, at.trial))
        _gain(rows, at.right + node, heat)
        given = given + heat
    store(rows, at.right_sum + at.borders, spread(0.0) - given)


@compiled
def _linearise_faces(rows: FloatArray, index: IntArray, at: Places) -> None:
    pocket, given, four = load(rows, at.crossed + at.borders), spread(0.0), spread(4.0)
    for turn in range(at.faces):
        node = entry(index, at.face + turn)
        face, film = load(rows, at.temperature + node), load(rows, at.face_film + turn)
        heat = _facing(rows, at, turn, pocket, face)
        _gain(rows, at.rate + node, heat)
        given = given + heat
        radiator = four * load(rows, at.face_radiator + turn)
        store(rows, at.by_pocket + turn, film + radiator * pocket * pocket * pocket)
        loss = (film + radiator * face * face * face) * _stretch(rows, index, at, node)
        store(rows, at.by_face + turn, loss)
        _gain(rows, at.diagonal + node, loss)
    store(rows, at.rate_sum + at.borders, spread(0.0) - given)
    store(rows, at.rate_slope_sum + at.borders, spread(0.0))


@compiled
def linearise(rows: FloatArray, whole: IntArray, index: IntArray, at: Places, absorbs: bool) -> None:
    """Evaluate the rate, its slope in time and the Jacobian's diagonals at every lane's state and time."""
    hold_instants(rows, whole, at)
    look_up(rows, whole, index, at)
    conduct(rows, index, at, at.rate, False)
    for node in range(at.nodes):
        store(rows, at.diagonal + node, spread(0.0))
    _scale_materials(rows, index, at)
    _linearise_joints(rows, index, at)
    _linearise_surface(rows, whole, index, at, absorbs)
    _linearise_sinks(rows, index, at)
    if at.faces > 0:
        _linearise_faces(rows, index, at)
    _enthalpy_per_x(rows, whole, index, at)


@compiled
def _kelvin_per_tau(rows: FloatArray, at: Places, node: int) -> FloatArray:
    return load(rows, at.temperature_slope + node) / load(rows, at.tau_slope + node)


@compiled
def _scale_materials(rows: FloatArray, index: IntArray, at: Places) -> None:
    """Take each material's mean of dT/dtau over its joint ends; ``scale`` keeps one over it."""
    for material in range(at.materials):
        store(rows, at.scale + material, spread(0.0))
    for ends in (at.joint_first, at.joint_second):
        for joint in range(at.joints):
            node = entry(index, ends + joint)
            _gain(rows, at.scale + entry(index, at.material + node), _kelvin_per_tau(rows, at, node))
    for material in range(at.materials):
        place = at.scale + material
        mean = load(rows, place) * load(rows, at.per_end + material) + load(rows, at.endless + material)
        store(rows, place, spread(1.0) / mean)


@compiled
def _stretch(rows: FloatArray, index: IntArray, at: Places, node: int) -> FloatArray:
    return _kelvin_per_tau(rows, at, node) * load(rows, at.scale + entry(index, at.material + node))


@compiled
def _linearise_joints(rows: FloatArray, index: IntArray, at: Places) -> None:
    nothing, one, half = spread(0.0), spread(1.0), spread(0.5)
    for joint in range(at.joints):
        first, second = entry(index, at.joint_first + joint), entry(index, at.joint_second + joint)
        hot, cold = load(rows, at.temperature + first), load(rows, at.temperature + second)
        h, area = _conductance(rows, at, joint, hot), load(rows, at.joint_area + joint)
        heat = h * area * (hot - cold)
        _gain(rows, at.rate + first, nothing - heat)
        _gain(rows, at.rate + second, heat)
        opens = hot > load(rows, at.joint_gap_reference + joint)
        opening = choose(opens, load(rows, at.joint_gap_rate + joint), nothing)
        slope = h * larger(one - half * h * opening * (hot - cold), half) * area
        slope = slope * root(_stretch(rows, index, at, first) * _stretch(rows, index, at, second))
        store(rows, at.joint_slope + joint, slope)
        _gain(rows, at.diagonal + first, slope)
        _gain(rows, at.diagonal + second, slope)


@compiled
def _linearise_surface(rows: FloatArray, whole: IntArray, index: IntArray, at: Places, absorbs: bool) -> None:
    convected = radiated = warmer_film = warmer_around = spread(0.0)
    for turn in range(at.outers):
        node = entry(index, at.outer + turn)
        wall, stretch = load(rows, at.temperature + node), _stretch(rows, index, at, node)
        film, radiation, loss, cooling, in_time, warmer = surface_slopes(rows, whole, at, turn, wall, absorbs)
        convected, radiated = convected + film, radiated + radiation
        warmer_film, warmer_around = warmer_film + in_time, warmer_around + warmer
        _gain(rows, at.rate + node, film + radiation)
        store(rows, at.rate_slope + turn, in_time + warmer)
        loss, cooling = loss * stretch, cooling * stretch
        store(rows, at.border_loss + 2 * turn, loss)
        store(rows, at.border_loss + 2 * turn + 1, cooling)
        _gain(rows, at.diagonal + node, loss + cooling)
    store(rows, at.rate_sum, convected)
    store(rows, at.rate_sum + 1, radiated)
    store(rows, at.rate_slope_sum, warmer_film)
    store(rows, at.rate_slope_sum + 1, warmer_around)


@compiled
def _linearise_sinks(rows: FloatArray, index: IntArray, at: Places) -> None:
    for border in range(2, at.borders):
        store(rows, at.rate_sum + border, spread(0.0))
        store(rows, at.rate_slope_sum + border, spread(0.0))
    for turn in range(at.sink_nodes):
        node, conductance = entry(index, at.sink + turn), load(rows, at.sink_conductance + turn)
        heat = conductance * (load(rows, at.sink_temperature + turn) - load(rows, at.temperature + node))
        _gain(rows, at.rate + node, heat)
        _gain(rows, at.rate_sum + entry(index, at.sink_border + turn), heat)
        loss = conductance * _stretch(rows, index, at, node)
        store(rows, at.border_loss + 2 * at.outers + turn, loss)
        _gain(rows, at.diagonal + node, loss)


@compiled
def _look_ahead(rows: FloatArray, whole: IntArray, index: IntArray, at: Places) -> None:
    """Take the steeper slope of tau, the own or that of the cell ahead, where a material melts."""
    nothing, one, last = spread(0.0), spread(1.0), spread(_LAST_CELL)
    for turn in range(at.melting_nodes):
        node = entry(index, at.melting_node + turn)
        material = entry(index, at.material + node)
        cell, _ = _cell_of(rows, index, at, node, load(rows, at.enthalpy + node))
        ahead = as_numbers(cell) + choose(load(rows, at.rate + node) > nothing, one, nothing - one)
        ahead = smaller(larger(ahead, nothing), last)
        address = load_whole(whole, at.table + material) + truncated(ahead) * spread_whole(_CELL_BYTES)
        slope = gather(address, 24) * load(rows, at.per_spacing + material)
        place = at.tau_slope + node
        own = load(rows, place)
        breaks = (slope > spread(BREAK) * own) & (load(rows, at.least_slope + material) > nothing)
        store(rows, place, choose(breaks, slope, own))


@compiled
def _enthalpy_per_x(rows: FloatArray, whole: IntArray, index: IntArray, at: Places) -> None:
    """Take de/dx at every node, and which share of its sensible slope it answers with while it boils."""
    _look_ahead(rows, whole, index, at)
    nothing, one, plateau = spread(0.0), spread(1.0), spread(PLATEAU)
    for node in range(at.nodes):
        material = entry(index, at.material + node)
        slope = load(rows, at.tau_slope + node)
        if entry(index, at.boils + material) != 0:
            over = load(rows, at.enthalpy + node) - load(rows, at.saturated + material)
            boils = over >= load(rows, at.evaporated + node)
            boils = boils & (over < load(rows, at.latent + material))
            boils = boils & (load(rows, at.rate + node) > nothing)
            share = choose(boils, plateau, one)
            store(rows, at.boiling + node, share)
            slope = slope * share
        store(rows, at.enthalpy_per_x + node, load(rows, at.scale + material) / slope)
