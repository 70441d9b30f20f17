"""How the parts of a built tip overlap at their joints, by what holds them."""

from optitip.evaluate.building import Tip
from optitip.evaluate.sources import thread_at
from optitip.geometry.lap import Lap, insert_lap
from optitip.inputs.strength_tables import Fixing
from optitip.inputs.study_tables import StudyTables


def fixing_of(tables: StudyTables, name: str) -> Fixing | None:
    """Return the fixing of a joint across the shell, "plug" or "base", if the study gives one."""
    return {"plug": tables.tip.plug.fixing, "base": tables.tip.base.fixing}[name]


def laps_of(tip: Tip) -> tuple[Lap, ...]:
    """Return the laps of a tip, fore to aft; none at a joint whose fixing the study doesn't give."""
    return tuple(lap for name in ("plug", "base") if (lap := lap_at(tip, name)) is not None)


def lap_at(tip: Tip, name: str) -> Lap | None:
    """Return the lap of a joint across the shell, "plug" or "base"; None where its fixing isn't given."""
    if name == "base":
        return tip.assembly.lap
    fixing = fixing_of(tip.tables, name)
    if fixing is None or fixing.thread is None:
        return None
    thread = thread_at(fixing.thread, place="tip.plug.fixing.thread")
    return insert_lap(tip.cavity, thread=thread, engagement=fixing.engagement)
