"""Which margins a tip has no answer for, and what the study would have to say."""

from optitip.evaluate.building import Tip
from optitip.evaluate.held import is_pressed, strength_of

NOTHING_APART = "no part of the shell is a part of its own"


def unjudged(tip: Tip) -> dict[str, str]:
    """Return the margins that can't be given for a tip, each with the reason."""
    strength, sample = tip.tables.strength, tip.tables.sample
    pressed = is_pressed(tip)
    asked = {
        **_of_fixings(tip),
        "margin.inside": None if strength.inside else "strength.inside names nothing",
        "margin.shoulder": None if strength_of(tip) else "sample.slab.strength isn't known",
        "margin.pressing": _pressing(pressed=pressed, given=sample.joint.force is not None),
        "margin.contact": None if pressed else "nothing presses the sample",
        "margin.coupler": None if strength.coupler_clearance else "strength.coupler_clearance isn't given",
        "margin.exposure": None if _tempered(tip) else "no metal here loses its temper in the heat",
    }
    return {name: reason for name, reason in asked.items() if reason is not None}


def _pressing(*, pressed: bool, given: bool) -> str | None:
    if not pressed:
        return "nothing presses the sample"
    return None if given else "sample.joint.force isn't given"


def _tempered(tip: Tip) -> bool:
    return any(one.exposure is not None for one in tip.materials)


def _of_fixings(tip: Tip) -> dict[str, str | None]:
    """Return the margins of threads, screws and rod with the reason where none of them is there."""
    tables = tip.tables.tip
    fixings = [one for one in (tables.plug.fixing, tables.base.fixing) if one is not None]
    apart = tables.base.separate or tables.plug.insert is not None
    lacks = "tip.base.fixing isn't given" if tables.base.separate else "tip.plug.fixing isn't given"
    why = "nothing of that kind holds a part" if fixings else lacks if apart else NOTHING_APART
    has_rod = any(one.rod is not None for one in fixings)
    has_screws = any(one.screw is not None for one in fixings)
    has_thread = any(one.thread is not None for one in fixings)
    return {
        "margin.thread": None if has_thread or has_rod else why,
        "margin.retention": None if has_screws or has_rod else why,
        "margin.rod": None if has_rod else why,
    }


def uncovered(tip: Tip) -> tuple[str, ...]:
    """Return what a person should know isn't covered at all, with the key that would."""
    tables = tip.tables.tip
    found = []
    if tip.tables.flight is None:
        found.append("what acts in flight, at the ejection and at the landing (a flight beside the table)")
    elif tip.tables.strength.landing_load is None:
        found.append("a landing on the tip (strength.landing_load)")
    if tables.base.separate and tables.base.fixing is None:
        found.append("what holds the base on (tip.base.fixing)")
    if tables.plug.insert is not None and tables.plug.fixing is None:
        found.append("what holds the insert on (tip.plug.fixing)")
    if strength_of(tip) is None:
        found.append("the sample's own strength (sample.slab.strength)")
    return tuple(found)
