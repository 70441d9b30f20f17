"""A heating as a CSV table that can be read back: one row a time, station and wall temperature."""

from pathlib import Path

import numpy as np

from optitip.arrays import BoolArray, FloatArray
from optitip.export.files import one_line, safe_name, write_text
from optitip.heating.table import Heating

HEADER = (
    "time [s]",
    "arc length [mm]",
    "wall temperature [K]",
    "film coefficient [W/(m2 K)]",
    "recovery temperature [K]",
    "pressure [Pa]",
    "Reynolds number",
    "turbulent share",
    "surroundings [K]",
    "absorbed flux [W/m2]",
)
_ROW = "%r,%r" + 8 * ",%.10g"
_STRAIGHT = 1e-10  # of the film: a wall temperature this near to the line between its neighbours is left out


def table_name(state: str) -> str:
    """Return the name of a flow state's file.

    >>> table_name("onset at 1e6"), table_name("heating table")
    ('heating-onset-at-1e6.csv', 'heating-table.csv')
    """
    return safe_name(f"heating-{state.removeprefix('heating ')}.csv")


def write_heating(heating: Heating, *, title: str, folder: Path) -> Path:
    """Write a heating under ``folder`` and return its file.

    Times and arc lengths stand with all their digits, the rest with ten. A wall temperature is left out where
    the film lies on the straight line between its neighbours, so that reading it back loses nothing.
    """
    return write_text(folder, table_name(heating.name), heating_csv(heating, title=title))


def heating_csv(heating: Heating, *, title: str) -> str:
    """Return a heating as CSV, its study's title and flow state in a comment on top."""
    t, s, w = np.nonzero(_bends(heating.film, heating.wall))
    columns = (
        heating.time[t],
        1e3 * heating.arc_length[s],
        heating.wall[w],
        heating.film[t, s, w],
        *(one[t, s] for one in (heating.recovery, heating.pressure, heating.reynolds, heating.turbulent)),
        heating.surroundings[t],
        heating.absorbed[t, s],
    )
    rows = zip(*(column.tolist() for column in columns), strict=True)
    words = one_line(f"{title}; {heating.name}")
    return "\n".join([f"# {words}", ",".join(HEADER), *(_ROW % row for row in rows), ""])


def _bends(film: FloatArray, wall: FloatArray) -> BoolArray:
    """Return where the film over the wall temperature is needed: at its ends and wherever it bends."""
    bends: BoolArray = np.ones(film.shape, dtype=np.bool_)
    if wall.size > 2:
        share = (wall[1:-1] - wall[:-2]) / (wall[2:] - wall[:-2])
        line = film[..., :-2] + share * (film[..., 2:] - film[..., :-2])
        bends[..., 1:-1] = np.abs(film[..., 1:-1] - line) > _STRAIGHT * film[..., 1:-1]
    return bends
