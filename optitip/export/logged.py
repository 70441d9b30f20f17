"""What ``optitip log --out`` writes: the picture of the log and the study's lines for it."""

from pathlib import Path

import numpy as np

from optitip.arrays import FloatArray
from optitip.evaluate.logs import Look
from optitip.export.files import write_text
from optitip.export.pictures.log_plots import LogRow, Recorded, plot_log
from optitip.flight.reading import Reading
from optitip.flight.sensors import Sensor
from optitip.inputs.recording import Quantity
from optitip.units import System

LINES = "flight.toml"
_ROWS = (
    (Quantity.ALTITUDE, "altitude above sea level", "altitude"),
    (Quantity.SPEED, "speed", "m/s"),
    (Quantity.MACH, "Mach number", "1"),
    (Quantity.ACCELERATION, "acceleration felt", "m/s2"),
)


def write_look(look: Look, *, lines: str, folder: Path, system: System) -> list[str]:
    """Write the study's ``lines`` and, if there is a flight, its picture; return the names."""
    written = [write_text(folder, LINES, lines)]
    if look.reading is not None:
        picture = plot_log(
            log_rows(look.reading),
            events=look.reading.flight.events,
            folder=folder,
            title=", ".join(look.names),
            system=system,
        )
        written.append(picture)
    return [path.name for path in written]


def log_rows(reading: Reading) -> list[LogRow]:
    """Return the quantities to draw: altitude and acceleration always, speed or Mach number as recorded."""
    used = reading.used
    lines = {
        Quantity.ALTITUDE: used.altitude,
        Quantity.SPEED: used.speed,
        Quantity.MACH: _mach(reading),
        Quantity.ACCELERATION: used.axial_acceleration,
    }
    found = {sensor.quantity for sensor in reading.sensors}
    wanted = found | {Quantity.ALTITUDE, Quantity.ACCELERATION}
    wanted |= {Quantity.SPEED} if Quantity.MACH not in found else set()
    return [
        LogRow(
            label=label,
            unit=unit,
            recorded=tuple(_recorded(one) for one in reading.sensors if one.quantity is quantity),
            time=used.time,
            used=lines[quantity],
        )
        for quantity, label, unit in _ROWS
        if quantity in wanted
    ]


def _mach(reading: Reading) -> FloatArray:
    """Return the Mach number (n,) of the path used: its speed over the sound's along the flight."""
    flight, used = reading.flight, reading.used
    moving = flight.speed > 1.0
    share = flight.mach[moving] / flight.speed[moving]
    return np.asarray(used.speed * np.interp(used.time, flight.time[moving], share))


def _recorded(sensor: Sensor) -> Recorded:
    finite = np.isfinite(sensor.values)
    return Recorded(
        label=f"{sensor.label} ({sensor.file})",
        time=sensor.time[finite],
        values=sensor.values[finite],
        left_out=~sensor.used[finite],
    )
