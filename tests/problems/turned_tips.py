"""Random built tips whose parts are held together by threads, screws, tie rods, in walls that bear them."""

from dataclasses import replace
from pathlib import Path

import numpy as np

from optitip.errors import DesignFailure, UserMistakes
from optitip.evaluate.building import build_tip
from optitip.evaluate.laps import laps_of
from optitip.geometry.mesh import DEFAULT_RESOLUTION
from optitip.inputs.study import read_study
from optitip.inputs.study_tables import OutlineFamily

STUDIES = Path(__file__).parents[2] / "studies"


def mm(length):
    return f"{1e3 * length:.5g} mm"


def built(changes, *, study="coastal-egg"):
    """Return the tip of a shipped study with a design's changes, its base's fixing and thickness left off."""
    written = read_study(STUDIES / study)
    tip = written.raw["tip"]
    base = {key: value for key, value in tip["base"].items() if key not in {"fixing", "thickness"}}
    bare = replace(written, raw={**written.raw, "tip": {**tip, "base": base}})
    own = bare.with_design(changes)
    return build_tip(own.tables, folder=own.folder, resolution=DEFAULT_RESOLUTION)


def random_changes(draw):
    """Return random keys of the coastal study: its outline, its inside, whether base and insert are apart."""
    diameter = draw.uniform(0.035, 0.1)
    length = diameter * draw.uniform(3.5, 6.0)
    turned = length * draw.uniform(0.55, 0.9)
    family = list(OutlineFamily)[draw.integers(len(OutlineFamily))]
    thickness = draw.uniform(8e-4, 2.5e-3)
    changes = {
        "outline.family": family.value,
        "outline.diameter": mm(diameter),
        "outline.length": mm(length),
        "outline.turned_length": mm(turned),
        "outline.tip_radius": mm(diameter * draw.uniform(0.03, 0.1)),
        "tip.plug.length": mm(turned * draw.uniform(0.3, 0.45)),
        "tip.plug.wall": mm(draw.uniform(1.5e-3, 4e-3)),
        "tip.plug.fillet": mm(draw.uniform(0.0, 2e-3) * (draw.random() > 0.3)),
        "tip.fore_taper": mm(draw.uniform(2e-3, 8e-3)),
        "tip.band.thickness": mm(thickness),
        "tip.band.thickness_aft": mm(thickness * draw.uniform(0.7, 1.4)),
        "tip.band.length": mm(turned * draw.uniform(0.2, 0.35)),
        "tip.aft_taper": mm(draw.uniform(2e-3, 8e-3)),
        "tip.base.separate": bool(draw.random() < 0.8),
        "sample.slab.thickness": "1 mm",
        "sample.pocket.air": "vented" if draw.random() < 0.6 else "sealed",
        "turning.nose_radius": mm(draw.choice([2e-4, 4e-4, 8e-4])),
    }
    if family in {OutlineFamily.POWER, OutlineFamily.PARABOLA}:
        changes["outline.exponent"] = float(f"{draw.uniform(0.55, 0.9):.3g}")
    if draw.random() < 0.4:
        changes["tip.base.solid"] = True
        if draw.random() < 0.5:
            changes["tip.base.bore"] = mm(diameter * draw.uniform(0.05, 0.5))
    else:
        changes["tip.base.thickness"] = mm(draw.uniform(3e-3, 6e-3))
    if draw.random() < 0.4:
        changes["tip.plug.insert"] = mm(turned * draw.uniform(0.12, 0.2))
        changes["tip.plug.material"] = "304"
    return changes


def held(draw, changes):
    """Return the changes with fixings that suit the walls there are; UserMistakes where they can't."""
    found = {}
    if changes["tip.base.separate"]:
        bare = built(changes).cavity
        outside = float(np.interp(bare.base_corner[1], bare.outline.axial, bare.outline.radius))
        middle = 1e3 * (outside + float(bare.base_corner[0]))
        way = draw.integers(4)
        pitch = float(draw.choice([0.5, 0.75, 1.0, 1.5]))
        if way <= 1:
            found["tip.base.fixing.thread"] = f"M{middle + 0.5 * pitch:.4g}x{pitch:g}"
            found["tip.base.fixing.engagement"] = mm(draw.uniform(2e-3, 8e-3))
        elif way == 2:
            found["tip.base.fixing.screw"] = str(draw.choice(["M2", "M2.5", "M3", "#4-40 UNC"]))
            found["tip.base.fixing.screws"] = int(draw.integers(3, 9))
            found["tip.base.fixing.engagement"] = mm(draw.uniform(3e-3, 5e-3))
        else:
            found["tip.base.fixing.rod"] = str(draw.choice(["M3", "M4", "M5"]))
            found["tip.base.fixing.engagement"] = mm(draw.uniform(3e-3, 8e-3))
    if "tip.plug.insert" in changes and draw.random() < 0.7:
        found["tip.plug.fixing.thread"] = str(draw.choice(["M4", "M5", "M6x0.75", "M6"]))
        found["tip.plug.fixing.engagement"] = mm(draw.uniform(2e-3, 5e-3))
    return {**changes, **found}


def random_tips(seed):
    """Yield built tips without end whose laps all have metal; those that can't be are drawn again."""
    draw = np.random.default_rng(seed)
    while True:
        try:
            changes = random_changes(draw)
            changes = held(draw, changes)
            tip = built(changes)
        except (DesignFailure, UserMistakes):
            continue
        laps = laps_of(tip)
        if all(min(one.spigot_wall, one.skirt_wall, one.room) > 3e-4 for one in laps):
            yield tip
