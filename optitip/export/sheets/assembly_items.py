"""What a tip is put together from and in which order, in words: parts list, steps, cautions."""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from optitip.evaluate.building import Tip
from optitip.export.parts.part import TurnedPart
from optitip.export.parts.section import section_of
from optitip.export.sheets.sheet_blocks import length_text
from optitip.geometry.topology import Zone
from optitip.inputs.strength_tables import Fixing
from optitip.inputs.tip_tables import JointBuild, PocketAir
from optitip.properties.materials import Family, Material
from optitip.units import System, text

TORQUE = "torque ____________"
_BROUGHT = {
    JointBuild.DRY: "dry, against the clean wall",
    JointBuild.WETTED: "its outside wetted, so that no air is left between it and the wall",
    JointBuild.SPRUNG: "with the spring behind it that presses it to the wall",
    JointBuild.PASTE: "its outside under a thin even coat of paste",
    JointBuild.EPOXY: "bonded with epoxy to the clean, roughened wall; let it cure",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """One line of the parts list; ``key`` says what it is to the drawing."""

    key: str
    name: str
    count: int
    material: str
    mass: float | None = None  # [kg] of one


def items_of(tip: Tip, *, parts: Sequence[TurnedPart]) -> tuple[Item, ...]:
    """Return what goes into a tip: turned parts fore to aft, sample, what holds and what leads out."""
    sample = tip.tables.sample
    items = [
        Item(key=one.name, name=one.name, count=1, material=one.material, mass=one.mass) for one in parts
    ]
    slab, backing = lining_volumes(tip)
    if slab > 0.0:
        what = "slab" if sample.slab.share == 1.0 else f"slab, {100.0 * sample.slab.share:.3g} % of the round"
        items.append(
            Item(key="slab", name=what, count=1, material=sample.material, mass=slab * tip.sample.density)
        )
    if sample.backing is not None and backing > 0.0 and not _is_air(tip):
        mass = backing * _backing(tip).density
        items.append(
            Item(key="backing", name="backing", count=1, material=sample.backing.material, mass=mass)
        )
    items += _held_on(tip)
    if sample.wires is not None:
        items.append(
            Item(key="wires", name=f"wires, bundle ⌀{length_text(sample.wires)}", count=1, material="")
        )
    if sample.probe is not None:
        items.append(Item(key="probe", name=f"probe ⌀{length_text(sample.probe)}", count=1, material=""))
    return tuple(items)


def lining_volumes(tip: Tip) -> tuple[float, float]:
    """Return the volumes of slab and backing [m3] over their share of the round."""
    volumes = {one.layer: one.volume for one in section_of(tip).profiles}
    return volumes.get("SLAB", 0.0), volumes.get("BACKING", 0.0)


def _is_air(tip: Tip) -> bool:
    backing = tip.tables.sample.backing
    return backing is not None and _backing(tip).family is Family.GAS


def _backing(tip: Tip) -> Material:
    """Return the material behind the slab of a tip that has one."""
    cells = np.flatnonzero(tip.mesh.cell_zone == Zone.BACKING)
    return tip.materials[int(tip.cell_material[cells[0]])]


def _held_on(tip: Tip) -> Iterator[Item]:
    table = tip.tables.tip
    for fixing in (table.plug.fixing, table.base.fixing):
        if fixing is None:
            continue
        if fixing.screw is not None:
            yield Item(
                key="screws", name=f"screw {fixing.screw}", count=fixing.screws, material=fixing.material
            )
        elif fixing.rod is not None:
            yield Item(key="rod", name=f"tie rod {fixing.rod}", count=1, material=fixing.material)
            yield Item(key="nut", name=f"nut {fixing.rod} with washer", count=1, material=fixing.material)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Speaker:
    """Says items with their number on the drawing, and lengths in a system of units."""

    numbers: Mapping[str, int]
    system: System

    def has(self, key: str) -> bool:
        return key in self.numbers

    def the(self, key: str) -> str:
        return f"{key} ({self.numbers[key]})"

    def long(self, length: float) -> str:
        return text(length, "m", self.system, digits=3)


def steps_of(tip: Tip, *, items: Sequence[Item], system: System) -> tuple[str, ...]:
    """Return the order of putting a tip together and of taking it apart."""
    numbers = {one.key: place for place, one in enumerate(items, start=1)}
    say = _Speaker(numbers=numbers, system=system)
    steps = ["Clean all parts, weigh each and note it; hold walls and fits against their sheets."]
    if say.has("insert"):
        steps.append(_joined(say, "insert", "shell", fixing=tip.tables.tip.plug.fixing))
    steps += _sampled(tip, say)
    if say.has("base"):
        steps.append(_joined(say, "base", "shell", fixing=tip.tables.tip.base.fixing))
    probe = tip.assembly.probe
    if say.has("probe") and probe is not None:
        tilt = f"{math.degrees(probe.tilt):.0f} deg off the axis"
        steps.append(
            f"Put the {say.the('probe')} in straight from aft, {say.long(probe.length)} deep, {tilt}."
        )
    return (*steps, *_closed(tip, say))


def _sampled(tip: Tip, say: _Speaker) -> Iterator[str]:
    one = tip.assembly
    if one.seat_depth is not None and one.seat_wall is not None:
        yield f"The flat seat takes {say.long(one.seat_depth)} of the wall, leaves {say.long(one.seat_wall)}."
    if say.has("slab"):
        how = _BROUGHT[tip.tables.sample.joint.build]
        room = f"it needs {say.long(one.passes)} across, {say.long(one.opening)} is clear"
        yield f"Put the {say.the('slab')} in from aft, {how}; {room}."
    if say.has("backing"):
        yield f"Put the {say.the('backing')} in behind the slab."
    if say.has("wires") and one.wires_hole is not None:
        narrow = f"the narrowest place is {say.long(one.wires_hole)} across"
        yield f"Lead the {say.the('wires')} out aft; {narrow}. Keep them off the wall."


def _joined(say: _Speaker, part: str, to: str, *, fixing: Fixing | None) -> str:
    what, other = say.the(part), say.the(to)
    if fixing is None:
        return f"Join the {what} to the {other} on their plain face: the study names nothing that holds it."
    if fixing.thread is not None:
        return f"Screw the {what} and the {other} together ({fixing.thread}) until the faces meet: {TORQUE}."
    if fixing.screw is not None:
        screws = f"{fixing.screws} screws ({say.numbers['screws']})"
        return f"Slide the {what} over the spigot of the {other}, faces together; put {screws} in: {TORQUE}."
    rod, nut = (say.the(key) for key in ("rod", "nut"))
    preload = f", to a tension of {text(fixing.preload, 'N', say.system)}" if fixing.preload else ""
    return f"Screw the {rod} into the plug, put the {what} on; tighten the {nut}{preload}: {TORQUE}."


def _closed(tip: Tip, say: _Speaker) -> Iterator[str]:
    pocket, one = tip.tables.sample.pocket, tip.assembly
    if pocket.air is PocketAir.VENTED:
        yield f"The pocket breathes through a vent of {say.long(pocket.vent)}: see that it is open."
    elif pocket.air is PocketAir.SEALED:
        yield "The pocket is sealed: check that it is tight."
    way = "the base comes off" if one.base_comes_off else "nothing comes off, it leaves by the base's hole"
    hot = f"it needs {say.long(one.passes_hot)} across while hot, {say.long(one.way_out)} is clear"
    if say.has("slab"):
        yield f"To take the sample out {way}; {hot}." + (
            " It comes out no sooner than cooled." if one.opening_room < 0.0 else ""
        )


def cautions_of(tip: Tip) -> tuple[str, ...]:
    """Return what to beware of when a tip is put together, flown and opened."""
    cautions = [
        "CHECK BEFORE METAL IS CUT: these sheets are reckoned, not measured.",
        "The tip is hot after its flight and the plug stays hot longest: let it cool, use gloves.",
        "Lithium cells stay out of the tip and away from its base: heat makes them vent and burn.",
    ]
    air = tip.tables.sample.pocket.air
    if air is PocketAir.SEALED:
        cautions.insert(1, "A sealed pocket holds pressure while hot: open it cold, nobody in line with it.")
    elif air is PocketAir.VENTED:
        cautions.insert(1, "A blocked vent lets pressure build up: look through it before each flight.")
    if tip.sample.family is Family.FOOD:
        cautions.append("Food that has flown isn't safe to eat.")
    return tuple(cautions)
