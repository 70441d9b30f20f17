"""An invented tip, answered by a few formulas: thin long walls warm more and break sooner, solid ones weigh.

It has the shape of the real job (numbers and choices, three objectives in conflict, designs that can't be
built, about a fifth that keep the limits) and none of its physics. Worker processes import it by name,
so it imports little.
"""

import math
import time
from types import MappingProxyType

from synthetic_workers import one_by_one

from optitip.errors import Outcome
from optitip.metrics.values import Bracketed, Evaluation
from optitip.search.executors.face import States
from optitip.units import quantity

UNITS = MappingProxyType(
    {
        "sample.energy_peak": "J",
        "shell.mass": "kg",
        "margin.strain": "1",
        "margin.buckling": "1",
        "margin.joint": "1",
        "margin.yield": "1",
        "margin.smallest": "1",
        "band.temperature_peak": "K",
    }
)
FREE = {
    "tip.band.thickness_fore": ("0.6 mm", "2.5 mm"),
    "tip.band.thickness_aft": ("0.6 mm", "2.5 mm"),
    "tip.band.length": ("40 mm", "120 mm"),
    "tip.plug.length": ("15 mm", "70 mm"),
    "tip.base.thickness": ("1 mm", "5 mm"),
    "sample.thickness": ("2 mm", "8 mm"),
}
CHOICES = {"tip.material": ("6061", "304", "titanium", "copper"), "sample.joint": ("dry", "wet", "paste")}
SOLIDS = {  # density, heat capacity, strength, stiffness
    "6061": (2700.0, 2.42e6, 240.0, 69.0),
    "304": (7900.0, 3.9e6, 205.0, 195.0),
    "titanium": (4430.0, 2.5e6, 828.0, 113.0),
    "copper": (8900.0, 3.4e6, 70.0, 118.0),
}
JOINTS = {"dry": (200.0, 0.0), "wet": (450.0, 0.003), "paste": (1200.0, 0.012)}  # conductance, mass


def evaluate(design, *, spread=0.0):
    """Return the invented answer; ``spread`` widens the bracket as more flow states would."""
    keys = FREE.keys()
    fore, aft, length, plug, base, sample = (quantity(design[key], "m") for key in keys)
    density, capacity, strength, stiffness = SOLIDS[design["tip.material"]]
    conductance, joint_mass = JOINTS[design["sample.joint"]]
    rest = 0.170 - plug - length
    radius = 0.008 + 0.12 * (plug + 0.5 * length)
    if rest < 0.015:
        return Evaluation(outcome=Outcome.TIP_TOO_SHORT, detail=f"{rest * 1e3:.1f} mm are left")
    if radius - max(fore, aft) - sample < 0.008:
        return Evaluation(outcome=Outcome.SLAB_TOO_THICK, detail="the cavity is narrow")
    wall = 0.5 * (fore + aft)
    film = 700.0 * (0.03 / (plug + 0.5 * length)) ** 0.2
    into_sample = 1.0 / (1.0 / conductance + 0.35 * sample)
    rate = (film + into_sample) / (capacity * wall)
    hottest = (film * 700.0 + into_sample * 300.0) / (film + into_sample)
    band = 300.0 + (hottest - 300.0) * (1.0 - math.exp(-8.0 * rate))
    area = math.pi * radius * 0.55 * length
    through = area * into_sample * ((band - 300.0) * 4.0 + (band - 300.0) * capacity * wall / 1500.0)
    room = area * sample * 4.0e6 * (band - 300.0) * 0.6
    energy = 1.0 / (1.0 / through + 1.0 / room)
    mass = density * (
        2.0 * math.pi * radius * length * wall + math.pi / 3.0 * (0.11 * plug + 0.008) ** 2 * plug
    )
    mass += 2700.0 * 2.0 * math.pi * 0.026 * base * rest + joint_mass
    soft = max(1.0 - ((band - 300.0) / 500.0) ** 2, 0.03)
    cold = 300.0 + 400.0 * (1.0 - math.exp(-8.0 * film / (2.42e6 * base)))
    jump = abs(band - cold) * 0.0035 * stiffness
    strain = strength * soft / (0.16 * jump + 12.0 * (1e-3 / aft) ** 1.2) - 1.0
    buckling = stiffness * soft * (min(fore, aft) * 1e3) ** 2.2 / (radius**1.5 * length) / 3.0e5 - 1.0
    joint = (470.0 - cold) / 120.0
    yielding = min(fore, aft) / 0.75e-3 - 1.0 + 0.04 * math.sin(length / 0.02)
    figures = {
        "sample.energy_peak": energy,
        "shell.mass": mass,
        "margin.strain": strain,
        "margin.buckling": buckling,
        "margin.joint": joint,
        "margin.yield": yielding,
        "margin.smallest": min(strain, buckling, joint, yielding),
        "band.temperature_peak": band,
    }
    return Evaluation(
        outcome=Outcome.ANSWERED,
        seconds=1e-4,
        metrics={
            name: Bracketed(
                unit=UNITS[name],
                low=value - spread * max(abs(value), 1.0),
                expected=value,
                high=value + spread * max(abs(value), 1.0),
            )
            for name, value in figures.items()
        },
    )


def _searching(design):
    return evaluate(design, spread=0.02)


def _confirming(design):
    return evaluate(design, spread=0.05)


def evaluators():
    confirming = one_by_one(_confirming)
    return {States.SEARCH: one_by_one(_searching), States.ALL: confirming, States.FINER: confirming}


def _slow(design):
    time.sleep(0.02)
    return _searching(design)


def slow_evaluators():
    return evaluators() | {States.SEARCH: one_by_one(_slow)}
