"""A heating table as somebody's flow solver or rig wrote it: its columns, read into rows and a heating."""

from collections.abc import Mapping
from functools import lru_cache
from pathlib import Path

import numpy as np

from optitip.arrays import FloatArray
from optitip.errors import Mistake, UserMistakes
from optitip.flight.trajectory import Flight
from optitip.geometry.outline import Outline
from optitip.heating.fluxes import HIGHEST_FILM, HOTTEST_RECOVERY, film_and_recovery, film_of_flux
from optitip.heating.table import Heating, from_table
from optitip.inputs.tables import Column, read_table

KEPT = 32
ROOM = 293.15
HEATING_COLUMNS = {
    "time": Column(unit="s"),
    "arc length": Column(unit="m", required=False),
    "axial": Column(unit="m", required=False, aliases=("z",), lowest=0.0),
    "film coefficient": Column(unit="W/(m2 K)", required=False, lowest=0.0, highest=HIGHEST_FILM),
    "heat flux": Column(unit="W/m2", required=False),
    "recovery temperature": Column(unit="K", required=False, highest=HOTTEST_RECOVERY),
    "wall temperature": Column(unit="K", required=False, highest=HOTTEST_RECOVERY),
    "pressure": Column(unit="Pa", required=False, lowest=0.0),
    "Reynolds number": Column(unit="1", required=False, lowest=0.0),
    "turbulent share": Column(unit="1", required=False, lowest=0.0, highest=1.0),
    "surroundings": Column(unit="K", required=False),
}
_OTHERS = {"pressure": "pressure", "reynolds": "Reynolds number", "turbulent": "turbulent share"}


@lru_cache(maxsize=KEPT)
def given_heating(
    path: Path, *, outline: Outline, flight: Flight | None, surroundings: float | None, name: str
) -> Heating:
    """Return the heating of a table as it was written, its times and stations its own.

    What the table lacks comes from the flight, if there is one: pressure and temperature of the air.
    ``surroundings`` [K] is the study's; it comes before the table's own column.
    """
    rows, file = _rows(path), path.name
    time, notes = rows["time"], []
    arc_length = rows.get("arc length")
    if arc_length is None:
        arc_length = _arc_length(rows["axial"], outline=outline)
    film, recovery, wall = rows.get("film coefficient"), rows.get("recovery temperature"), None
    kept: slice | np.ndarray = slice(None)
    if film is not None:
        wall = rows.get("wall temperature")
    elif recovery is not None:
        wall = rows["wall temperature"]
        film = film_of_flux(rows["heat flux"], recovery=recovery, wall=wall, place=file)
    else:
        flux = rows["heat flux"]
        solved = film_and_recovery(
            flux, wall=rows["wall temperature"], time=time, arc_length=arc_length, place=file
        )
        kept, film, recovery = solved.row, solved.film, solved.recovery
        if solved.misfit > 0.01 * np.abs(flux).max():
            notes.append(
                f"of the heating table, a straight line through the fluxes over the wall temperature leaves"
                f" up to {solved.misfit:.3g} W/m2"
            )
    others = {key: rows[label][kept] for key, label in _OTHERS.items() if label in rows}
    if flight is not None and "pressure" not in others:
        others["pressure"] = np.interp(time[kept], flight.time, flight.pressure)
        notes.append("the heating table has no pressure: the air's own along the flight is taken")
    heating = from_table(
        time=time[kept],
        arc_length=arc_length[kept],
        film=film,
        recovery=recovery if recovery is not None else np.empty(0),
        wall=wall,
        surroundings=_surroundings(rows, flight=flight, given=surroundings)[kept],
        name=name,
        place=file,
        **others,
    )
    return heating if not notes else _noted(heating, notes)


@lru_cache(maxsize=KEPT)
def _rows(path: Path) -> Mapping[str, FloatArray]:
    rows = read_table(path, columns=HEATING_COLUMNS)
    mistakes = list(_wrong_columns(rows.keys(), file=path.name))
    if mistakes:
        raise UserMistakes(mistakes)
    return rows
