"""Random loads, factors, fits, fixings, things inside and lathes, over the whole range the keys allow."""

import numpy as np

from optitip.inputs.strength_tables import Place
from optitip.inputs.turning_tables import StockSeries, Support

THREADS = ("M20x1.5", "M36x1.5", "M60x2", "1 1/8-12 UNF", "2.5-16 UN", "M5")
SCREWS = ("M2", "M3", "M5", "#6-32 UNC", "#10-32 UNF")
RODS = ("M3", "M5", "M8", "1/4-28 UNF")
ROD_METALS = ("304", "Ti-6Al-4V", "6061-T6")


def one_of(draw, options):
    return options[int(draw.integers(len(options)))]


def up_to(draw, most, unit):
    """Return nought, or a quantity spread over four decades below ``most``."""
    value = 0.0 if draw.random() < 0.2 else most * 10.0 ** draw.uniform(-4.0, 0.0)
    return f"{value:.4g} {unit}"


def random_strength(draw):
    """Return a random table of what a tip must bear."""
    names = ("loads", "strain", "shakedown", "buckling", "fixing", "slab")
    table = {
        "safety_factor": float(f"{10.0 ** draw.uniform(0.0, 1.0):.4g}"),
        "factors": {name: float(f"{draw.uniform(1.0, 5.0):.4g}") for name in names if draw.random() < 0.3},
        "gust": up_to(draw, 50.0, "m/s"),
        "lateral_acceleration": up_to(draw, 1e4, "m/s2"),
        "hand_load": up_to(draw, 1e4, "N"),
        "snatch": up_to(draw, 1e5, "m/s2"),
        "spin": up_to(draw, 1e3, "rad/s"),
        "strain_range": float(f"{10.0 ** draw.uniform(-4.0, 0.0):.4g}"),
        "flights": int(10.0 ** draw.uniform(0.0, 5.0)),
        "inside": [
            {
                "name": f"thing {number}",
                "place": one_of(draw, list(Place)).value,
                "limit": f"{limit:.4g} degC",
            }
            for number, limit in enumerate(draw.uniform(-20.0, 400.0, int(draw.integers(0, 4))))
        ],
    }
    if draw.random() < 0.5:
        table["landing_load"] = up_to(draw, 1e5, "N")
    if draw.random() < 0.5:
        table["coupler_clearance"] = f"{10.0 ** draw.uniform(-6.0, -2.0):.4g} m"
    if draw.random() < 0.3:
        table["joint_limit"] = f"{draw.uniform(0.0, 300.0):.4g} degC"
    return table


def random_turning(draw):
    """Return a random table of the lathe."""
    nose = 10.0 ** draw.uniform(-5.0, -2.0)
    bar = 10.0 ** draw.uniform(-3.0, -1.0)
    table = {
        "nose_radius": f"{nose:.6g} m",
        "feed": f"{0.99 * nose * 10.0 ** draw.uniform(-2.0, 0.0):.4g} m",
        "depth_of_cut": f"{10.0 ** draw.uniform(-6.0, -2.0):.4g} m",
        "smallest_bar": f"{bar:.6g} m",
        "largest_stock": f"{1.01 * bar * 10.0 ** draw.uniform(0.0, 2.0):.4g} m",
        "stock": one_of(draw, list(StockSeries)).value,
        "support": one_of(draw, list(Support)).value,
        "wall_tolerance": up_to(draw, 1e-3, "m"),
        "slab_tolerance": up_to(draw, 1e-3, "m"),
        "bore_depth_tolerance": up_to(draw, 1e-3, "m"),
        "finish": f"{10.0 ** draw.uniform(-8.0, -4.0):.4g} m",
    }
    paired = {"nose_radius", "feed", "smallest_bar", "largest_stock"}
    return {key: value for key, value in table.items() if key in paired or draw.random() < 0.8}


def random_fixing(draw):
    """Return a random fixing of a base of its own."""
    engagement = {"engagement": f"{10.0 ** draw.uniform(-4.0, -1.5):.4g} m"}
    way = int(draw.integers(3))
    if way == 0:
        return {"thread": one_of(draw, THREADS), **engagement}
    if way == 1:
        return {"screw": one_of(draw, SCREWS), "screws": int(draw.integers(3, 40)), **engagement}
    preload = {"preload": up_to(draw, 1e5, "N")}
    return {"rod": one_of(draw, RODS), "material": one_of(draw, ROD_METALS), **preload, **engagement}


def random_fit(draw):
    """Return a random fit: none, some micrometres either way, or as much as a millimetre."""
    if draw.random() < 0.4:
        return "0 m"
    return f"{np.sign(draw.uniform(-1.0, 1.0)) * 10.0 ** draw.uniform(-6.0, -3.0):.4g} m"


def random_holding(draw, design):
    """Return what holds the parts of a design and its sample: fits, fixings, vent, pressing, strength."""
    found = {"sample.pocket.vent": f"{10.0 ** draw.uniform(-5.0, -1.5):.4g} m"}
    if design.get("tip.base.separate"):
        found["tip.base.fit"] = random_fit(draw)
        if draw.random() < 0.7:
            found["tip.base.fixing"] = random_fixing(draw)
    if "tip.plug.insert" in design:
        found["tip.plug.fit"] = random_fit(draw)
        if draw.random() < 0.5:
            found["tip.plug.fixing"] = {"thread": one_of(draw, ("M4", "M8", "M20x1.5"))}
    if draw.random() < 0.3:
        found["sample.joint.force"] = up_to(draw, 1e3, "N")
    if draw.random() < 0.3:
        found["sample.joint.travel"] = f"{10.0 ** draw.uniform(-6.0, -2.0):.4g} m"
    if draw.random() < 0.3:
        found["sample.slab.strength"] = f"{10.0 ** draw.uniform(2.0, 8.0):.4g} Pa"
    return found
