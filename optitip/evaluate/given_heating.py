"""A heating table as somebody's flow solver or rig wrote it: its columns, read into a heating."""

from collections.abc import Iterator, Mapping
from dataclasses import replace
from functools import lru_cache
from pathlib import Path

import numpy as np

from optitip.arrays import FloatArray, IntArray
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
    "arc length": Column(unit="m", required=False, lowest=0.0),
    "axial": Column(unit="m", required=False, aliases=("z",), lowest=0.0),
    "wall temperature": Column(unit="K", required=False, highest=HOTTEST_RECOVERY),
    "film coefficient": Column(unit="W/(m2 K)", required=False, lowest=0.0, highest=HIGHEST_FILM),
    "recovery temperature": Column(unit="K", required=False, highest=HOTTEST_RECOVERY),
    "heat flux": Column(unit="W/m2", required=False),
    "absorbed flux": Column(unit="W/m2", required=False),
    "pressure": Column(unit="Pa", required=False, lowest=0.0),
    "Reynolds number": Column(unit="1", required=False, lowest=0.0),
    "turbulent share": Column(unit="1", required=False, lowest=0.0, highest=1.0),
    "surroundings": Column(unit="K", required=False),
}
_CARRIED = {
    "pressure": "pressure",
    "reynolds": "Reynolds number",
    "turbulent": "turbulent share",
    "absorbed": "absorbed flux",
    "surroundings": "surroundings",
}
_POOR_FIT = 0.01  # of the greatest flux


@lru_cache(maxsize=KEPT)
def given_heating(
    path: Path, *, outline: Outline | None, flight: Flight | None, surroundings: float | None, name: str
) -> Heating:
    """Return the heating of a table as it was written, its times and stations its own.

    ``outline`` turns axial stations into arc lengths; a table of arc lengths needs none. ``surroundings``
    [K] is the study's and comes before the table's own column. What both lack, pressure and surroundings,
    is the air's along the flight, or 101,325 Pa and 20 degC.
    """
    rows, file = table_rows(path), path.name
    s = _arc_length(rows, outline=outline)
    kept, given, notes = _convected(rows, arc_length=s, file=file)
    carried = {key: rows[label][kept] for key, label in _CARRIED.items() if label in rows}
    carried |= given
    time = rows["time"][kept]
    if flight is not None and "pressure" not in carried:
        carried["pressure"] = np.interp(time, flight.time, flight.pressure)
        notes = (*notes, "the heating table has no pressure: that of the air along the flight is taken")
    if surroundings is not None:
        carried["surroundings"] = np.full(time.size, surroundings)
    elif "surroundings" not in carried:
        around = ROOM if flight is None else np.interp(time, flight.time, flight.temperature)
        carried["surroundings"] = np.broadcast_to(around, time.shape)
    # where no air is given, the tip starts at what it radiates to
    carried.setdefault("recovery", carried["surroundings"])
    heating = from_table(time=time, arc_length=s[kept], name=name, place=file, **carried)
    return replace(heating, warnings=(*heating.warnings, *notes))


@lru_cache(maxsize=KEPT)
def table_rows(path: Path) -> Mapping[str, FloatArray]:
    """Return the columns of a heating table, or raise all that is wrong with them."""
    rows = read_table(path, columns=HEATING_COLUMNS)
    mistakes = list(_misfits(set(rows), file=path.name))
    if mistakes:
        raise UserMistakes(mistakes)
    return rows


def _misfits(columns: set[str], *, file: str) -> Iterator[Mistake]:
    """Yield what is wrong with the choice of columns."""
    if ("arc length" in columns) == ("axial" in columns):
        both = "both arc length and axial are" if "axial" in columns else "neither arc length nor axial is"
        yield Mistake(file, f"{both} there", "Keep a column 'arc length [mm]' or 'axial [mm]'")
    film, flux, recovery, wall = (
        one in columns
        for one in ("film coefficient", "heat flux", "recovery temperature", "wall temperature")
    )
    if film and flux:
        remedy = "Keep one; what is taken up whatever the wall does is 'absorbed flux [W/m2]'"
        yield Mistake(file, "both film coefficient and heat flux are there", remedy)
    elif film and not recovery:
        yield Mistake(
            file, "a film coefficient has no recovery temperature", "Add 'recovery temperature [K]'"
        )
    elif flux and recovery and not wall:
        remedy = "Add 'wall temperature [K]', that of the wall the flux was taken at"
        yield Mistake(file, "a heat flux with a recovery temperature has no wall temperature", remedy)
    elif not film and not flux and "absorbed flux" not in columns:
        remedy = "Add 'film coefficient [W/(m2 K)]' and 'recovery temperature [K]', or 'heat flux [W/m2]'"
        yield Mistake(file, "nothing in it heats", remedy)


def _arc_length(rows: Mapping[str, FloatArray], *, outline: Outline | None) -> FloatArray:
    """Return the arc length [m] of each row; aft of the tip it goes on straight."""
    if "arc length" in rows:
        return rows["arc length"]
    if outline is None:
        raise ValueError("axial stations need an outline")
    axial, place = np.unique(rows["axial"], return_inverse=True)
    past = np.maximum(axial - outline.turned_length, 0.0) / np.cos(outline.slope[-1])
    return np.asarray((outline.arc_length_of(axial) + past)[place])


def _convected(
    rows: Mapping[str, FloatArray], *, arc_length: FloatArray, file: str
) -> tuple[slice | IntArray, dict[str, FloatArray], tuple[str, ...]]:
    """Return the rows to keep, what the air does in them by the names of ``from_table``, and notes."""
    wall, recovery = rows.get("wall temperature"), rows.get("recovery temperature")
    flux, film = rows.get("heat flux"), rows.get("film coefficient")
    walls = {} if wall is None else {"wall": wall}
    if film is not None and recovery is not None:
        return slice(None), {"film": film, "recovery": recovery, **walls}, ()
    if flux is None or wall is None:
        return slice(None), *_held_flux(rows, flux=flux)
    if recovery is not None:
        film = film_of_flux(flux, recovery=recovery, wall=wall, place=file)
        return slice(None), {"film": film, "recovery": recovery, **walls}, ()
    solved = film_and_recovery(flux, wall=wall, time=rows["time"], arc_length=arc_length, place=file)
    note = (
        f"in {file}, straight lines of the heat flux over the wall temperature leave up to"
        f" {solved.misfit:.3g} W/m2"
    )
    notes = (note,) if solved.misfit > _POOR_FIT * np.abs(flux).max() else ()
    return solved.row, {"film": solved.film, "recovery": solved.recovery}, notes


def _held_flux(
    rows: Mapping[str, FloatArray], *, flux: FloatArray | None
) -> tuple[dict[str, FloatArray], tuple[str, ...]]:
    """Return a flux that is held whatever the wall does, no air beside it."""
    count = rows["time"].size
    held = rows.get("absorbed flux", np.zeros(count)) + (0.0 if flux is None else flux)
    note = "the heat flux of the table is held whatever the wall does; it gives heat back by radiation alone"
    return {"film": np.zeros(count), "absorbed": held}, (note,)
