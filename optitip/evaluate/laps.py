"""How the parts of a built tip overlap at their joints, by what holds them."""

from optitip.evaluate.building import Tip
from optitip.evaluate.fixings import fixing_of
from optitip.evaluate.sources import thread_at
from optitip.geometry.lap import Lap, LapKind, base_lap, insert_lap
from optitip.inputs.strength_tables import Fixing


def laps_of(tip: Tip) -> tuple[Lap, ...]:
    """Return the laps of a tip, fore to aft; none at a joint whose fixing the study doesn't give."""
    insert, base = (fixing_of(tip.tables, name) for name in ("plug", "base"))
    laps = []
    if insert is not None and insert.thread is not None:
        thread = thread_at(insert.thread, place="tip.plug.fixing.thread")
        laps.append(insert_lap(tip.cavity, thread=thread, engagement=insert.engagement))
    if base is not None:
        laps.append(_base_lap(tip, base))
    return tuple(laps)


def _base_lap(tip: Tip, fixing: Fixing) -> Lap:
    if fixing.thread is not None:
        thread = thread_at(fixing.thread, place="tip.base.fixing.thread")
        return base_lap(tip.cavity, kind=LapKind.THREAD, thread=thread, engagement=fixing.engagement)
    kind = LapKind.PLAIN if fixing.screw is None else LapKind.SCREWS
    return base_lap(tip.cavity, kind=kind, thread=None, engagement=fixing.engagement)
