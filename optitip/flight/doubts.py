"""What a person should know about a record before its flight is believed."""

import numpy as np

from optitip.errors import UserMistakes
from optitip.flight.atmosphere import Atmosphere
from optitip.flight.landmarks import Landmarks
from optitip.flight.smoothed import Record
from optitip.flight.timeline import Path

_APART = 0.3


def doubts_of_start(record: Record, marks: Landmarks, atmosphere: Atmosphere) -> list[str]:
    """Return what is odd about where the record begins: its altitude there, and its speed."""
    found = []
    start = float(np.interp(marks.lift_off, record.time, record.altitude)) - atmosphere.site_altitude
    if abs(start) > 100.0:
        found.append(
            f"the record lifts off {start:.0f} m above the site: check what its altitude counts from"
        )
    if marks.lift_off <= record.time[0] and record.speed[0] > 20.0:
        found.append(f"the record begins at {record.speed[0]:.0f} m/s: the start of the boost is missing")
    return found


def check_agreement(record: Record, path: Path, *, place: str) -> None:
    """Raise where a fused climb rises otherwise, by a third, than the altitudes in ``record``."""
    inside = (record.time >= path.time[0]) & (record.time <= path.time[-1])
    seen, rise = float(np.ptp(record.altitude[inside])), float(path.altitude[-1] - path.altitude[0])
    if abs(rise - seen) > _APART * seen:
        problem = f"the channels can't be brought together: {rise:.0f} m of climb fused, {seen:.0f} m seen"
        remedy = "Check units and where the record begins, or leave a channel out of flight.columns"
        raise UserMistakes.one(place, problem, remedy)


def doubts_of_path(record: Record, path: Path, marks: Landmarks) -> list[str]:
    """Return where the path and what was recorded part: units, altitudes that stray, a drifted speed."""
    found = []
    up = path.time <= marks.apogee
    t, z, v = path.time[up], path.altitude[up], path.speed[up]
    flown = float(np.sum(0.5 * (v[1:] + v[:-1]) * np.diff(t)))
    if not 0.5 * flown < z[-1] - z[0] < 1.1 * flown:
        found.append(
            f"the altitude rises {z[-1] - z[0]:.0f} m while the speed flies {flown:.0f} m: check both units"
        )
    raw = (record.time > 0.0) & (record.time < marks.apogee)
    lag = float(np.abs(record.altitude[raw] - np.interp(record.time[raw], t, z)).max(initial=0.0))
    if lag > 50.0:
        found.append(f"the altitude strays by up to {lag:.0f} m on the way up and was smoothed over")
    down = path.time > marks.apogee + 5.0
    if down.sum() > 10:
        rate = float(path.altitude[down][0] - path.altitude[-1]) / float(path.time[-1] - path.time[down][0])
        mean = float(path.speed[down].mean())
        if mean > 2.0 * rate + 20.0:
            found.append(
                f"the speed on the way down averages {mean:.0f} m/s, the altitude falls at {rate:.0f} m/s: "
                "if the speed has drifted, end the record at the apogee"
            )
    return found
