"""What recorders' files of one flight hold: how each was read, the flight in them, the map that says so."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from optitip.errors import OutOfRange, UserMistakes
from optitip.evaluate.sources import atmosphere_of, recorded_flight
from optitip.flight.reading import Reading
from optitip.inputs import study_tables
from optitip.inputs.log_columns import AlsoRecorded, LogColumns
from optitip.inputs.recording import Quantity, Survey, survey_file
from optitip.inputs.shapes import start_level
from optitip.inputs.study import Study
from optitip.inputs.study_tables import AltitudeAbove

_GROUND = 30.0  # [m]: an altitude that starts nearer to zero counts from the ground


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Look:
    """The files as they were read, with the flight table of a study that names them.

    ``reading`` is the flight in them, or None where ``refused`` says why there is none.
    """

    surveys: tuple[Survey, ...]
    """of ``flight.record`` first, then of ``flight.also``"""
    table: study_tables.Flight
    reading: Reading | None
    refused: UserMistakes | OutOfRange | None

    @property
    def names(self) -> list[str]:
        """Return the files' names, as the flight table has them."""
        return [str(self.table.record), *(one.record for one in self.table.also)]


def look_at_files(
    files: Sequence[Path], *, site_altitude: float | None, site_temperature: float | None
) -> Look:
    """Return what the files hold, all guessed; the site [m above sea level] and its air [K] where known."""
    surveys = tuple(survey_file(path, columns=None) for path in files)
    above, ground = _counted_from(surveys)
    table = study_tables.Flight.model_construct(
        record=files[0].name,
        columns=LogColumns.model_validate(surveys[0].map),
        also=tuple(
            AlsoRecorded(record=path.name, columns=LogColumns.model_validate(survey.map))
            for path, survey in zip(files[1:], surveys[1:], strict=True)
        ),
        altitude_above=above,
        site_altitude=ground if site_altitude is None else site_altitude,
        site_temperature=site_temperature,
    )
    return _looked(surveys, table)


def look_at_study(study: Study) -> Look:
    """Return what the records of a study hold, read with its own maps and settings."""
    table = study.tables.flight
    if table is None or table.record is None:
        raise UserMistakes.one(study.path.name, "the study names no record", "Name a recorder's file instead")
    named = [(table.record, table.columns), *((one.record, one.columns) for one in table.also)]
    surveys = tuple(survey_file(study.folder / record, columns=columns) for record, columns in named)
    return _looked(surveys, table)


def proposed_table(look: Look) -> dict[str, Any]:
    """Return the flight table that names the files and what their columns hold, as a study writes it."""
    first, *others = (
        {"record": name, "columns": _columns(survey, written)}
        for name, survey, written in zip(
            look.names,
            look.surveys,
            [look.table.columns, *(one.columns for one in look.table.also)],
            strict=True,
        )
    )
    table: dict[str, Any] = {"record": first["record"]}
    if look.table.altitude_above is AltitudeAbove.SEA:
        table["altitude_above"] = "sea"
    if look.table.site_altitude:
        table["site_altitude"] = f"{look.table.site_altitude:g} m"
    if look.table.site_temperature is not None:
        table["site_temperature"] = f"{look.table.site_temperature - 273.15:.5g} degC"
    if look.table.site_pressure is not None:
        table["site_pressure"] = f"{look.table.site_pressure / 100.0:.6g} hPa"
    table["columns"] = first["columns"]
    return {**table, "also": others} if others else table


def _columns(survey: Survey, written: LogColumns | None) -> dict[str, Any]:
    """Return a map of the columns in few lines: no Mach number beside a speed."""
    columns: dict[str, Any] = {
        key: said for key, said in survey.map.items() if not (key == "mach" and "speed" in survey.map)
    }
    if written is not None and written.missing:
        columns["missing"] = list(written.missing)
    if written is not None and written.from_line > 1:
        columns["from_line"] = written.from_line
    return columns


def _looked(surveys: tuple[Survey, ...], table: study_tables.Flight) -> Look:
    try:
        reading = recorded_flight(table, [one.recording for one in surveys], air=atmosphere_of(table))
    except (UserMistakes, OutOfRange) as error:
        return Look(surveys=surveys, table=table, reading=None, refused=error)
    return Look(surveys=surveys, table=table, reading=reading, refused=None)


def _counted_from(surveys: Sequence[Survey]) -> tuple[AltitudeAbove, float]:
    """Return what the altitudes count from, and the site's altitude [m] where they tell it."""
    for survey in surveys:
        for channel in survey.recording.channels:
            if channel.quantity is Quantity.ALTITUDE:
                start = start_level(channel.values)
                if abs(start) > _GROUND:
                    return AltitudeAbove.SEA, round(start)
    return AltitudeAbove.GROUND, 0.0
