"""``optitip log FILE...``: what a recorder's columns are taken for, and the flight in them."""

from collections.abc import Mapping
from pathlib import Path
from typing import Annotated

import tomli_w
import typer
from rich.console import Console
from rich.markup import escape

from optitip.cli.answers import console
from optitip.cli.places import placed_in
from optitip.cli.tables import show_table, table
from optitip.errors import Mistake, OutOfRange, UserMistakes
from optitip.evaluate.logs import Look, look_at_files, look_at_study, proposed_table
from optitip.flight.atmosphere import STANDARD_GRAVITY, site_atmosphere
from optitip.flight.reading import Reading
from optitip.flight.sensors import Sensor
from optitip.inputs.recording import ColumnRead, columns_of
from optitip.inputs.sampling import usual_step
from optitip.inputs.study import read_study
from optitip.units import System, UnitError, quantity, text

SITE_ALTITUDE, SITE_TEMPERATURE = "--site-altitude", "--site-temperature"


def command(
    files: Annotated[
        list[Path], typer.Argument(help="A recorder's files of one flight, or a study that names them.")
    ],
    site_altitude: Annotated[
        str | None, typer.Option(help="The site above the sea, like '300 m'; else as the file tells it.")
    ] = None,
    site_temperature: Annotated[
        str | None, typer.Option(help="The air there on the day, like '20 degC'; else the standard one.")
    ] = None,
    out: Annotated[
        Path | None, typer.Option(help="A folder for a picture (PNG) and the lines (TOML).")
    ] = None,
    units: Annotated[System, typer.Option(help="Units of the answer.")] = System.METRIC,
) -> None:
    """Say what each column of a recorder's file was taken for, and give a study's lines for it."""
    altitude = _option(SITE_ALTITUDE, site_altitude, "m")
    temperature = _option(SITE_TEMPERATURE, site_temperature, "K")
    answer = console()
    if _is_study(files):
        look = _look_at_study(files[0], {SITE_ALTITUDE: altitude, SITE_TEMPERATURE: temperature})
    else:
        look = _look_at_files(answer, files, altitude, temperature)
    for survey, name in zip(look.surveys, look.names, strict=True):
        answer.print()
        _show_columns(answer, survey.columns, f"{name}: {survey.rows} rows")
    _show_notes(answer, look)
    if look.reading is not None:
        _show_flight(answer, look, look.reading, units)
    lines = tomli_w.dumps({"flight": proposed_table(look)})
    beside = "the file" if len(look.names) == 1 else "the files"
    answer.print(f"\nFor the study, with {beside} beside it:", style="bold")
    answer.print(lines.rstrip(), markup=False, soft_wrap=True)
    if out is not None:
        from optitip.export.logged import write_look  # noqa: PLC0415 (plots import slowly)

        written = write_look(look, lines=lines, folder=out, system=units)
        answer.print(f"\nWrote {', '.join(written)} in {out}", markup=False)
    if look.refused is not None:
        raise look.refused


def _option(name: str, written: str | None, si: str) -> float | None:
    if written is None:
        return None
    try:
        return quantity(written, si)
    except UnitError as error:
        raise UserMistakes.one(f"optitip log {name}", error.problem, error.remedy) from None


def _is_study(files: list[Path]) -> bool:
    return len(files) == 1 and (files[0].is_dir() or files[0].suffix == ".toml")


def _look_at_study(path: Path, site: Mapping[str, float | None]) -> Look:
    study = read_study(path)
    for name, value in site.items():
        if value is not None:
            problem, remedy = "a study names its own site", "Change it there, or name its record instead"
            raise UserMistakes.one(f"optitip log {name}", problem, remedy)
    with placed_in(study.path.name):
        return look_at_study(study)


def _look_at_files(
    answer: Console, files: list[Path], altitude: float | None, temperature: float | None
) -> Look:
    """Return what the files hold; of a file that can't be understood its columns are shown first."""
    for number, path in enumerate(files):
        if path in files[:number]:
            raise UserMistakes.one("optitip log", f"{path.name} is named twice", "Name each file once")
    try:
        site_atmosphere(0.0 if altitude is None else altitude, temperature=temperature)
    except UserMistakes as error:
        raise UserMistakes(_of_an_option(one) for one in error.mistakes) from None
    except OutOfRange as error:
        one = _of_an_option(error.mistake)
        raise OutOfRange(one.place, one.problem, one.remedy) from None
    try:
        return look_at_files(files, site_altitude=altitude, site_temperature=temperature)
    except UserMistakes:
        for path in files:
            _show_columns(answer, columns_of(path), path.name)
        raise


def _of_an_option(mistake: Mistake) -> Mistake:
    """Return a mistake about the site under the option that gave it."""
    name = SITE_TEMPERATURE if mistake.place.endswith("temperature") else SITE_ALTITUDE
    return Mistake(f"optitip log {name}", mistake.problem, mistake.remedy)


def _show_columns(answer: Console, columns: tuple[ColumnRead, ...], title: str) -> None:
    made = table(
        title,
        ("column", False), ("holds", False), ("taken for", False), ("why", False),
    )  # fmt: skip
    for one in columns:
        label = f"{one.number} {one.label}".rstrip()
        taken = f"{one.taken_for} [{one.unit}]" if one.taken_for else "-"
        made.add_row(escape(label), escape(one.holds), escape(taken), escape(one.why))
    show_table(answer, made)


def _show_notes(answer: Console, look: Look) -> None:
    """Print what is notable but for the guessed units, whose reasons stand in the table."""
    read = [note for survey in look.surveys for note in survey.recording.notes]
    warnings = look.reading.flight.warnings if look.reading is not None else ()
    notes = [note for note in read if "no unit is written" not in note]
    for note in [*notes, *(one for one in warnings if one not in read)]:
        answer.print(f"Note: {note}.", markup=False)


def _show_flight(answer: Console, look: Look, reading: Reading, units: System) -> None:
    flight = reading.flight
    up = (flight.time >= 0.0) & (flight.time <= flight.events["apogee"])
    top, fast = (int(values[up].argmax()) for values in (flight.altitude, flight.speed))
    push = float(flight.axial_acceleration[up].max())
    answer.print()
    made = table("The flight in it, times from lift-off", ("", False), ("", False))
    made.show_header = False
    made.add_row("lift-off", escape(_lift_off_on_file(look, reading)))
    for word in ("burnout", "apogee", "landing"):
        if word in flight.events:
            made.add_row(word, text(flight.events[word], "s"))
    above = float(flight.altitude[up][top]) - look.table.site_altitude
    made.add_row("greatest altitude", f"{text(above, 'altitude', units)} above the site")
    speed, mach = float(flight.speed[up][fast]), float(flight.mach[up].max())
    made.add_row(
        "greatest speed", f"{text(speed, 'm/s', units)}, Mach {mach:.2f}, at {flight.time[up][fast]:.4g} s"
    )
    made.add_row("greatest push", f"{push / STANDARD_GRAVITY:.3g} g felt")
    for sensor in reading.sensors:
        made.add_row(escape(f"{sensor.quantity.value} from {sensor.label}"), _samples(sensor))
    show_table(answer, made)


def _samples(sensor: Sensor) -> str:
    """Return a channel's count and rate of samples, its longest gap and what was left out of it."""
    time = sensor.time
    step = usual_step(time)
    longest = float((time[1:] - time[:-1]).max(initial=0.0))
    said = (
        f"{time.size} samples, {1.0 / step:.3g} a second, longest gap {longest:.3g} s" if step else "1 sample"
    )
    left_out = [
        f"{count} {reason}{'s' if reason == 'spike' and count > 1 else ''}"
        for reason, count in sensor.counts_left_out().items()
    ]
    return f"{said}; left out: {', '.join(left_out)}" if left_out else said


def _lift_off_on_file(look: Look, reading: Reading) -> str:
    """Return where lift-off is on the first file's own clock."""
    for channel in look.surveys[0].recording.channels:
        for sensor in reading.sensors:
            same = (sensor.file, sensor.label) == (channel.file, channel.label)
            if same and sensor.time.size:
                # rows long before lift-off are cropped, so that the last row is the one they share
                return f"at {channel.time[-1] - sensor.time[-1]:.7g} s on the clock of {channel.file}"
    return "at 0 s"
