"""What a recorder wrote of a flight: channels, each with its own times, in SI."""

from dataclasses import dataclass
from enum import Enum
from pathlib import Path

from optitip.arrays import FloatArray
from optitip.errors import UserMistakes
from optitip.inputs.study_tables import LogColumns
from optitip.inputs.tables import Column, read_table


class Quantity(Enum):
    """What a channel holds; the value is its word in a study."""

    ALTITUDE = "altitude"
    PRESSURE = "pressure"
    SPEED = "speed"
    MACH = "mach"
    ACCELERATION = "acceleration"


UNITS = {
    Quantity.ALTITUDE: "m",
    Quantity.PRESSURE: "Pa",
    Quantity.SPEED: "m/s",
    Quantity.MACH: "1",
    Quantity.ACCELERATION: "m/s2",
}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Channel:
    """One column of a recorder's file: ``time`` (n,) [s] of the file's own clock, strictly rising.

    ``values`` (n,) are SI: altitude [m], pressure [Pa], speed [m/s], mach [1], acceleration [m/s2] along
    the body's axis as the sensor gives it, sign and level at rest not yet settled. ``label`` is the column
    as it was written.
    """

    quantity: Quantity
    time: FloatArray
    values: FloatArray
    file: str
    label: str


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Recording:
    """The channels of one file, and what a person should know about how it was read."""

    channels: tuple[Channel, ...]
    notes: tuple[str, ...] = ()


_COLUMNS = {
    "time": Column(unit="s", increasing=True),
    "altitude": Column(unit="m", required=False, aliases=("height",)),
    "pressure": Column(unit="Pa", required=False),
    "speed": Column(unit="m/s", required=False, aliases=("velocity",)),
    "mach": Column(unit="1", required=False, aliases=("mach number",)),
    "acceleration": Column(unit="m/s2", required=False),
}


def read_recording(path: Path, *, columns: LogColumns | None) -> Recording:
    """Return the channels of a recorder's file; ``columns`` is the study's map; None has all guessed.

    Raises ``UserMistakes`` where a column that is needed can't be told.
    """
    if columns is not None:
        raise UserMistakes.one(path.name, "a map of columns is not read yet", "Leave flight.columns out")
    found = read_table(path, columns=_COLUMNS, ignore_others=True)
    return Recording(
        channels=tuple(
            Channel(
                quantity=quantity,
                time=found["time"],
                values=found[quantity.value],
                file=path.name,
                label=f"{quantity.value} [{unit}]",
            )
            for quantity, unit in UNITS.items()
            if quantity.value in found
        )
    )
