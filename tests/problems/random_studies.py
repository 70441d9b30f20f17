"""Random studies and designs over the whole range of every key that shapes tip, sample, flight or heating.

A study is written into a folder of its own: one outline on one flight (three shipped ones with their
numbers changed, or a heating table without a flight); several designs are then drawn inside it. Most lengths
are drawn as shares of what they are chained to, so that most designs exist; one draw in ten takes any length
the schema allows.
"""

from pathlib import Path

import numpy as np
import tomli_w
from random_strength import random_holding, random_strength, random_turning

from optitip.errors import UserMistakes
from optitip.evaluate.sources import flown, turned_outline
from optitip.inputs.study import Study, read_study
from optitip.inputs.study_tables import Attitude, BaseAir, OutlineFamily, TurbulentLaw
from optitip.inputs.tip_tables import BoringBar, JointBuild, JointKind, Opens, PocketAir, Seat

STUDIES = Path(__file__).parents[2] / "studies"
SHELLS = ("6061-T6", "7075-T6", "304", "Ti-6Al-4V", "C110", "C360", "PTFE", "PMMA", "glass-phenolic")
FOODS = ("egg white", "potato", "lean beef", "agar gel")
SAMPLES = (*FOODS, *FOODS, "PMMA", "paraffin wax", "PTFE", "6061-T6", "304", "C110", "still air")
BACKINGS = ("still air", "PTFE", "epoxy-heat-cure", "6061-T6", "paraffin wax", "potato")
FLIGHTS = ("coastal-egg", "polymer-coupon", "upland-potato", "heating table")


def one_of(draw, options):
    return options[int(draw.integers(len(options)))]


def log_uniform(draw, low, high):
    return float(np.exp(draw.uniform(np.log(low), np.log(high))))


def mm(length):
    return f"{1e3 * length:.5g} mm"


def celsius(draw, low, high):
    return f"{draw.uniform(low, high):.4g} degC"


def sometimes(draw, chance, **values):
    """Return the values with this chance, else nothing."""
    return values if draw.random() < chance else {}


def random_study(draw, *, folder, flights=FLIGHTS):
    """Return a random study, written into ``folder``: outline, flight and flow of several designs."""
    kind = one_of(draw, flights)
    diameter = log_uniform(draw, 0.025, 0.3)
    aside = draw.spawn(1)[0]  # so that the rest is drawn as without these
    table = {
        "outline": _outline(draw, diameter=diameter),
        "flow": _flow(draw, from_table=kind == "heating table"),
        "tip": {"material": "6061-T6", "band": {"thickness": "1 mm"}},
        "sample": {"material": "egg white", "slab": {"thickness": "1 mm"}},
        "strength": random_strength(aside),
        "turning": random_turning(aside),
    }
    folder.mkdir(parents=True, exist_ok=True)
    if kind == "heating table":
        (folder / "heating.csv").write_text(_heating_rows(draw, reach=2.0 * diameter), encoding="utf-8")
    else:
        table["flight"] = _flight(draw, kind)
    path = folder / "study.toml"
    path.write_text(tomli_w.dumps(table), encoding="utf-8")
    return read_study(path)


def _outline(draw, *, diameter):
    family = one_of(draw, list(OutlineFamily))
    length = diameter * draw.uniform(1.2, 8.0)
    shape = {"family": family.value, "diameter": mm(diameter), "length": mm(length)}
    if family in {OutlineFamily.POWER, OutlineFamily.PARABOLA}:
        shape["exponent"] = float(f"{draw.uniform(0.5 if family is OutlineFamily.POWER else 1e-3, 1.0):.4g}")
    if family is not OutlineFamily.ELLIPSE or draw.random() < 0.5:
        shape["tip_radius"] = mm(min(log_uniform(draw, 3e-4, 20e-3), 0.4 * diameter))
    return shape | sometimes(draw, 0.7, turned_length=mm(min(length * draw.uniform(0.2, 0.95), 5 * diameter)))


def _flow(draw, *, from_table):
    around = sometimes(draw, 0.2, surroundings=celsius(draw, -70, 60))
    if from_table:
        return {"heating_table": "heating.csv", **around}
    middle = log_uniform(draw, 2e4, 2e7)
    onsets = {
        "low_onset": float(f"{middle * draw.uniform(0.5, 1.0):.4g}"),
        "expected_onset": float(f"{middle:.4g}"),
        "high_onset": float(f"{middle * draw.uniform(1.0, 4.0):.4g}"),
    }
    return {
        **around,
        **sometimes(draw, 0.5, **onsets),
        **sometimes(draw, 0.2, trip=mm(draw.uniform(0.001, 0.02))),
        **sometimes(draw, 0.2, roughness=mm(draw.uniform(0.0, 1e-3))),
        **sometimes(draw, 0.2, turbulent_law=one_of(draw, list(TurbulentLaw)).value),
    }


def _flight(draw, kind):
    source = read_study(STUDIES / kind)
    flight = dict(source.raw["flight"])
    for key in ("record", "also"):
        if key == "record" and key in flight:
            flight[key] = str(source.folder / flight[key])
        elif key in flight:
            flight[key] = [one | {"record": str(source.folder / one["record"])} for one in flight[key]]
    if "ascent" in flight:
        mass = log_uniform(draw, 4.5, 25.0)
        flight["ascent"] = flight["ascent"] | {
            "thrust": str(source.folder / "thrust.csv"),
            "drag": str(source.folder / "drag.csv"),
            "start_mass": f"{mass:.4g} kg",
            "propellant_mass": f"{mass * draw.uniform(0.2, 0.65):.4g} kg",
            "diameter": mm(draw.uniform(0.05, 0.15)),
            "rail_angle": f"{draw.uniform(75, 89.9):.4g} deg",
        }
    site, slow = draw.uniform(-15, 40), log_uniform(draw, 2, 20)
    flight |= {
        "site_temperature": f"{site:.4g} degC",
        "soak": f"{one_of(draw, (0, 1, 60, 600, 3600))} s",
        "descent": {
            "attitude": one_of(draw, list(Attitude)).value,
            "base": one_of(draw, list(BaseAir)).value,
            "drogue_rate": f"{slow * log_uniform(draw, 1.1, 8):.4g} m/s",
            "main_height": f"{log_uniform(draw, 20, 800):.4g} m",
            "main_rate": f"{slow:.4g} m/s",
        },
        "start_temperature": celsius(draw, max(site - 15, -2), site + 25),
    }
    if kind != "upland-potato":  # whose barometer knows how high it stood
        flight["site_altitude"] = f"{draw.uniform(0, 2500):.4g} m"
    flight.pop("site_pressure", None)
    flight.pop("pad", None)
    pad = {
        "wait": f"{log_uniform(draw, 1, 20000):.5g} s",
        "wind": f"{draw.uniform(0, 50):.4g} m/s",
        "sun": f"{draw.uniform(0, 1500):.4g} W/m2",
    }
    return flight | sometimes(draw, 0.35, pad=pad)


def _heating_rows(draw, *, reach):
    """Return a table of random films and recovery temperatures: 2 to 40 times, steps among them."""
    times = int(one_of(draw, (2, 3, 8, 40)))
    span = log_uniform(draw, 0.05, 10800.0)
    time = np.sort(draw.uniform(0.0, span, times)) if times > 2 else span * np.arange(times)
    stations = np.linspace(0.0, reach, int(one_of(draw, (2, 3, 9))))
    hot = draw.uniform(250.0, 1500.0, time.size)
    film = np.exp(draw.uniform(np.log(1.0), np.log(5e4), time.size))
    film[draw.random(time.size) < 0.2] = 0.0
    hot[0] = draw.uniform(275.0, 310.0)  # where the tip starts
    along = np.exp(-stations / reach * draw.uniform(0.0, 3.0))
    sun = draw.random() < 0.2
    head = "time [s],arc length [m],film coefficient [W/(m2 K)],recovery temperature [K]"
    rows = [head + (",absorbed flux [W/m2]" if sun else "")]
    for t, h, recovery in zip(time, film, hot, strict=True):
        absorbed = draw.uniform(0.0, 2e4)
        for s, share in zip(stations, along, strict=True):
            cells = [f"{t:.9g}", f"{s:.6g}", f"{h * share:.5g}", f"{recovery:.5g}"]
            rows.append(",".join(cells + ([f"{absorbed * share:.5g}"] if sun else [])))
    return "\n".join(rows) + "\n"


def random_design(draw, study):
    """Return a random design of a study: dotted keys with the text that would stand in the file."""
    outline = study.tables.outline
    turned = outline.turned_length or min(1.5 * outline.diameter, 0.9 * outline.length)
    aside = draw.spawn(1)[0]  # so that the other keys are drawn as without these
    design = {**_lengths(draw, turned=turned, radius=0.5 * outline.diameter), **_rest(draw)}
    design |= _put_together(aside, radius=0.5 * outline.diameter)
    design |= random_holding(aside, design)
    if draw.random() < 0.1:
        lengths = [key for key, value in design.items() if str(value).endswith(" mm")]
        design[one_of(draw, lengths)] = mm(log_uniform(draw, 1e-6, 10.0))
    return design


def _lengths(draw, *, turned, radius):
    band, plug = turned * draw.uniform(0.08, 0.5), turned * draw.uniform(0.08, 0.5)
    offset = band * draw.uniform(0.0, 0.4)
    thickness = log_uniform(draw, 3e-4, max(min(12e-3, 0.15 * radius), 4e-4))
    design = {
        "tip.band.thickness": mm(thickness),
        "sample.slab.thickness": mm(log_uniform(draw, 2e-4, max(0.2 * radius, 3e-4))),
        **sometimes(draw, 0.9, **{"tip.plug.length": mm(plug)}),
        "tip.plug.wall": mm(log_uniform(draw, 3e-4, 0.3 * radius)),
        **sometimes(draw, 0.8, **{"tip.plug.fillet": mm(log_uniform(draw, 5e-5, 3e-3))}),
        **sometimes(draw, 0.8, **{"tip.fore_taper": mm(turned * log_uniform(draw, 0.005, 0.2))}),
        **sometimes(draw, 0.9, **{"tip.band.length": mm(band)}),
        **sometimes(draw, 0.7, **{"tip.band.thickness_aft": mm(thickness * log_uniform(draw, 0.3, 3.0))}),
        **sometimes(draw, 0.8, **{"tip.aft_taper": mm(turned * log_uniform(draw, 0.005, 0.2))}),
        **sometimes(draw, 0.5, **{"sample.pocket.offset": mm(offset * (draw.random() > 0.3))}),
        **sometimes(draw, 0.5, **{"sample.pocket.length": mm((band - offset) * draw.uniform(0.2, 1.0))}),
    }
    if draw.random() < 0.35:
        design["tip.base.solid"] = True
        design |= sometimes(draw, 0.5, **{"tip.base.bore": mm(2.0 * radius * draw.uniform(0.02, 0.9))})
    else:
        base = {"tip.base.thickness": mm(log_uniform(draw, 3e-4, 0.5 * radius))}
        design |= sometimes(draw, 0.8, **base)
    if draw.random() < 0.35:
        design["tip.plug.insert"] = mm(plug * draw.uniform(0.05, 1.0))
        design["tip.plug.material"] = one_of(draw, SHELLS)
    return design


def _put_together(draw, *, radius):
    return {
        **sometimes(draw, 0.15, **{"tip.opens": one_of(draw, list(Opens)).value}),
        **sometimes(draw, 0.15, **{"tip.boring": one_of(draw, list(BoringBar)).value}),
        **sometimes(draw, 0.1, **{"sample.seat": one_of(draw, list(Seat)).value}),
        **sometimes(draw, 0.1, **{"sample.wires": mm(radius * log_uniform(draw, 0.005, 1.0))}),
        **sometimes(draw, 0.1, **{"sample.probe": mm(radius * log_uniform(draw, 0.005, 0.5))}),
    }


def _rest(draw):
    conductance = {"sample.joint.conductance": f"{log_uniform(draw, 1.0, 1e9):.5g} W/(m2 K)"}
    backing = {
        "sample.backing.material": one_of(draw, BACKINGS),
        "sample.backing.thickness": mm(log_uniform(draw, 1e-4, 8e-3)),
    }
    coating = {
        "tip.coating.thickness": mm(log_uniform(draw, 1e-6, 3e-3)),
        "tip.coating.conductivity": f"{log_uniform(draw, 0.02, 400.0):.4g} W/(m K)",
        "tip.coating.emissivity": float(f"{draw.random():.3g}"),
    }
    design = {
        "tip.material": one_of(draw, SHELLS),
        "tip.base.conductance": f"{one_of(draw, (0.0, log_uniform(draw, 1e-3, 1e4))):.4g} W/K",
        "sample.material": one_of(draw, SAMPLES),
        "sample.pocket.air": one_of(draw, list(PocketAir)).value,
        "sample.joint.build": one_of(draw, list(JointBuild)).value,
        "sample.joint.kind": one_of(draw, list(JointKind)).value,
        "sample.warm_above": celsius(draw, 0, 200),
        **sometimes(draw, 0.6, **conductance),
        **sometimes(draw, 0.5, **{"sample.slab.share": float(f"{log_uniform(draw, 0.01, 1.0):.4g}")}),
        **sometimes(draw, 0.4, **backing),
        **sometimes(draw, 0.3, **coating),
        **sometimes(draw, 0.4, **{"tip.emissivity": float(f"{draw.random():.3g}")}),
        **sometimes(draw, 0.3, **{"tip.absorptivity": float(f"{draw.random():.3g}")}),
        **sometimes(draw, 0.3, **{"tip.base.nose_temperature": celsius(draw, -40, 90)}),
        **sometimes(draw, 0.3, **{"sample.start_temperature": celsius(draw, -3, 60)}),
        **sometimes(draw, 0.3, **{"tip.plug.joint": f"{log_uniform(draw, 1, 1e9):.4g} W/(m2 K)"}),
        **sometimes(draw, 0.3, **{"tip.base.joint": f"{log_uniform(draw, 1, 1e9):.4g} W/(m2 K)"}),
    }
    if draw.random() < 0.5:
        design["tip.base.separate"] = True
        design |= sometimes(draw, 0.5, **{"tip.base.material": one_of(draw, SHELLS)})
    return design


def can_be(study):
    """Return whether the outline of a study exists, and its flight."""
    try:
        turned_outline(study)
        flown(study)
    except UserMistakes:
        return False
    return True


def random_designs(seed, *, folder, each=5, flights=FLIGHTS):
    """Yield (study, design) without end, ``each`` designs a study; studies that can't be are drawn again."""
    draw = np.random.default_rng(seed)
    number = 0
    while True:
        study: Study = random_study(draw, folder=folder / f"{seed}-{number}", flights=flights)
        number += 1
        if draw.random() > 0.03 and not can_be(study):
            continue
        for _ in range(each):
            yield study, random_design(draw, study)
