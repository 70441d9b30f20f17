"""The heat march of one built tip in one flow state: what geometry and heating hand to the solver."""

from collections.abc import Sequence

import numpy as np

from optitip.arrays import FloatArray, read_only
from optitip.evaluate.building import Tip
from optitip.evaluate.conditions import Conditions
from optitip.evaluate.open_base import with_open_base
from optitip.evaluate.pocket import cold_side_of, enclosure_of
from optitip.evaluate.reached import reached
from optitip.evaluate.sources import boiling_under
from optitip.geometry.mesh import JointPairs
from optitip.geometry.sides import row_areas
from optitip.heating.table import Heating
from optitip.inputs.tip_tables import JointKind, PocketAir
from optitip.properties.joints import JOINT_RANGES
from optitip.properties.materials import Family, Material
from optitip.solvers.assembly import HeatModel, assemble
from optitip.solvers.body import HeatBody, HeatJoint, Sink, Surface
from optitip.solvers.case import HeatCase

BARE_EMISSIVITY = 0.1  # commercial aluminium sheet reads 0.09: from memory
FOOD_EMISSIVITY = 0.9  # wet organic surfaces read 0.9 to 0.97: from memory
STILL_AIR = 0.03  # [W/(m K)], air near 100 degC: from memory
TIGHT = 1e8  # a backing lies against its slab without resistance of its own


def sample_conductance(tip: Tip) -> float:
    """Return the conductance of the sample's joint [W/(m2 K)]: the study's, or the build's expected one."""
    joint = tip.tables.sample.joint
    return JOINT_RANGES[joint.build].expected if joint.conductance is None else joint.conductance


def smear(tip: Tip, *, film: float) -> float:
    """Return the share of the circumference that a strip slab fills in an axisymmetric model.

    f = w / min(w + 2 l, 2 pi r) with l = sqrt(k t / h), the reach of the wall as a fin; w the strip's width.
    The strip's own heat is then that of the model times (w / 2 pi r) / f.

    film: [W/(m2 K)] outside the band while it is heated.
    Valid where the reach is short against the strip's distance from itself round the back; a full ring
    gives 1. Source: the fin equation (any textbook); within 2 % of a strip model in two dimensions on
    prototypes, own measurement.
    """
    share = tip.share
    if share >= 1.0:
        return 1.0
    cavity = tip.cavity
    middle = 0.5 * (cavity.pocket_arc[0] + cavity.pocket_arc[1])
    radius = float(tip.outline.at(np.array([middle]))[1][0])
    thickness = float(cavity.wall_thickness(np.array([middle]))[0])
    band = tip.materials[tip.parts.materials_of["band"][0]]
    reach = np.sqrt(float(band.conductivity_at(400.0)) * thickness / max(film, 1.0))
    width = 2.0 * np.pi * radius * share
    return float(width / min(width + 2.0 * reach, 2.0 * np.pi * radius))


def heat_body(tip: Tip, *, filled: float, pocket_pressure: float, start: float) -> HeatBody:
    """Return the body to march; ``filled`` is the smear factor of slab, backing and their joints.

    In a sealed pocket nothing boils: the air shut in presses on the sample beside its own vapour.
    """
    mesh = tip.mesh
    sealed = tip.tables.sample.pocket.air is PocketAir.SEALED
    pressure = None if sealed else pocket_pressure
    return HeatBody(
        points=mesh.points,
        cells=mesh.cells,
        cell_material=tip.cell_material,
        cell_weight=read_only(np.where(tip.parts.lined, filled, 1.0)),
        materials=tuple(boiling_under(one, pressure=pressure) for one in tip.materials),
        joints=tuple(_joint(tip, pairs, filled=filled, start=start) for pairs in mesh.joints),
        cell_region=tip.parts.cell_part,
        enclosure=enclosure_of(tip, filled=filled, emissivity=_own_emissivity(tip)),
        cold_side=cold_side_of(tip, filled=filled),
    )


def _joint(tip: Tip, pairs: JointPairs, *, filled: float, start: float) -> HeatJoint:
    tables = tip.tables
    conductance = {
        "sample": sample_conductance(tip),
        "backing": TIGHT,
        "plug": tables.tip.plug.joint,
        "base": tables.tip.base.joint,
    }[pairs.name]
    inside = pairs.name in {"sample", "backing"}
    captive = pairs.name == "sample" and tables.sample.joint.kind is JointKind.CAPTIVE
    return HeatJoint(
        name=pairs.name,
        first=pairs.first,
        second=pairs.second,
        area=pairs.area * (filled if inside else 1.0),
        conductance=np.full(pairs.area.shape, conductance),
        gap_rate=_growth(tip, pairs) if captive else np.zeros_like(pairs.area),
        gap_reference=start,
        gap_conductivity=STILL_AIR,
    )


def _growth(tip: Tip, pairs: JointPairs) -> FloatArray:
    """Return how fast the hot shell grows away from a captive ring [m/K]: alpha r."""
    band = tip.materials[tip.parts.materials_of["band"][0]]
    alpha = float(band.elastic.expansion_at(400.0)) if band.elastic else 0.0
    return np.asarray(alpha * tip.mesh.points[pairs.first, 0])


def surface_of(tip: Tip, heating: Heating, *, start: float = np.inf) -> Surface:
    """Return the heated side of the tip: the heating at its outer nodes, through the coating if any.

    start: [K] the hottest that any part begins at; what no wall can reach from there is left out.
    """
    mesh, coating = tip.mesh, tip.tables.tip.coating
    resistance = 0.0 if coating is None else coating.thickness / coating.conductivity
    walls, films = reached(heating, start=start, resistance=resistance)
    film = read_only(along(mesh.outer_arc, heating.arc_length, films))
    recovery, absorbed = (
        read_only(along(mesh.outer_arc, heating.arc_length, values[..., None]))[..., 0]
        for values in (heating.recovery, heating.absorbed)
    )
    if coating is not None:
        film = read_only(film / (1.0 + film * resistance))
    return Surface(
        nodes=mesh.outer,
        area=read_only(row_areas(mesh.points[mesh.outer])),
        time=heating.time,
        wall=walls,
        film=film,
        recovery=recovery,
        emissivity=_emissivity(tip),
        surroundings=heating.surroundings,
        absorbed=absorbed,
    )


def along(at: FloatArray, arc_length: FloatArray, values: FloatArray) -> FloatArray:
    """Return values (n_t, n_s, n_w) at other arc lengths (n_t, n, n_w), straight between the stations.

    >>> along(np.array([0.5]), np.array([0.0, 1.0]), np.array([[[0.0], [4.0]]])).tolist()
    [[[2.0]]]
    """
    right = np.minimum(np.maximum(arc_length.searchsorted(at), 1), arc_length.size - 1)
    left = right - 1
    start = arc_length.take(left)
    share = (at - start) / (arc_length.take(right) - start)
    share = np.minimum(np.maximum(share, 0.0), 1.0)
    before = values.take(left, axis=1)
    rise = values.take(right, axis=1)
    rise -= before
    # one long row a time: short ones would cost a loop each
    flat = rise.reshape(len(rise), -1)
    flat *= np.repeat(share, values.shape[2])
    before += rise
    return before


def _emissivity(tip: Tip) -> FloatArray:
    """Return the emissivity of each outer node: the coating's, the study's, or the material's own."""
    table, mesh = tip.tables.tip, tip.mesh
    if table.coating is not None:
        return np.full(len(mesh.outer), table.coating.emissivity)
    if table.emissivity is not None:
        return np.full(len(mesh.outer), table.emissivity)
    return read_only(_own_emissivity(tip)[mesh.outer])


def _own_emissivity(tip: Tip) -> FloatArray:
    """Return the emissivity of each node's own material, uncoated ``(n_nodes,)``."""
    own = np.array([_bare_emissivity(material) for material in tip.materials])
    return np.asarray(own[tip.parts.node_material])


def _bare_emissivity(material: Material) -> float:
    if material.emissivity is not None:
        return material.emissivity
    return FOOD_EMISSIVITY if material.family is Family.FOOD else BARE_EMISSIVITY


def nose_sink(tip: Tip, *, start: float) -> Sink:
    """Return the rest of the nose behind the aft face, through the base's conductance."""
    base, mesh = tip.tables.tip.base, tip.mesh
    nodes = mesh.rows[-1]
    area = row_areas(mesh.points[nodes])
    return Sink(
        nodes=nodes,
        conductance=base.conductance * area / area.sum(),
        temperature=start if base.nose_temperature is None else base.nose_temperature,
    )


def heat_case(
    tip: Tip,
    *,
    conditions: Conditions,
    heatings: Sequence[Heating],
    models: dict[float, HeatModel],
    condensed: float = 0.0,
) -> HeatCase:
    """Return what is marched: the tip under the heatings of its flow states, on the steps the worst needs.

    models: keeps what is assembled, by smear factor. condensed: the share of the vapour that condenses.
    """
    fills = [smear(tip, film=_film_while_heated(tip, heating)) for heating in heatings]
    for filled in fills:
        if filled not in models:
            body = heat_body(
                tip, filled=filled, pocket_pressure=conditions.pocket_pressure, start=conditions.start
            )
            models[filled] = assemble(body, elements=tip.elements)
    behind = nose_sink(tip, start=conditions.start)
    hottest = max(conditions.start, conditions.sample_start, behind.temperature)
    begin = np.full(len(tip.mesh.points), conditions.start)
    begin[np.concatenate([tip.nodes_of("slab"), tip.nodes_of("backing")])] = conditions.sample_start
    return HeatCase(
        models=tuple(models[filled] for filled in fills),
        surfaces=tuple(
            with_open_base(
                surface_of(tip, heating, start=hottest), tip=tip, heating=heating, flight=conditions.flight
            )
            for heating in heatings
        ),
        sinks=(behind,),
        start=begin,
        start_time=float(heatings[0].time[0]),
        end_time=float(heatings[0].time[-1]),
        kinks=conditions.kinks,
        condensed=(condensed,) * len(heatings),
    )


def _film_while_heated(tip: Tip, heating: Heating) -> float:
    """Return the film coefficient at mid pocket [W/(m2 K)], weighted by how hard the air heats there."""
    middle = np.array([0.5 * sum(tip.cavity.pocket_arc)])
    film = along(middle, heating.arc_length, np.asarray(heating.film))[:, 0, 0]
    recovery = along(middle, heating.arc_length, np.asarray(heating.recovery)[..., None])[:, 0, 0]
    weight = np.maximum(film * (recovery - recovery[0]), 0.0)
    return float((weight * film).sum() / weight.sum()) if weight.sum() > 0.0 else float(film.mean())
