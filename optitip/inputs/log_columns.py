"""The tables of a study that say what stands where in a recorder's file."""

from pydantic import Field, ValidationInfo, field_validator

from optitip.inputs.fields import Name, Shift, Table
from optitip.inputs.labels import SI, split_map, unit_scale


class LogColumns(Table):
    """Which column of a recorder's file holds what: ``"LABEL [unit]"``, or ``"column 3 [unit]"``.

    Without a unit the label's own counts; what is left out is guessed if nothing but the time is named. A
    unit may have a number before it: ``"TICKS [1/1024 s]"``, ``"ax [-1 g0]"``. ``missing`` are values that
    mean no reading; ``from_line`` is the line of the file, counted from 1, where the flight's rows begin.
    """

    time: Name | None = None
    altitude: Name | None = None
    pressure: Name | None = None
    speed: Name | None = None
    mach: Name | None = None
    acceleration: Name | None = None
    missing: tuple[float, ...] = ()
    from_line: int = Field(default=1, ge=1, strict=True)

    @field_validator(*(name for name in SI if name != "thrust"))
    @classmethod
    def _unit_is_of_its_kind(cls, said: str | None, about: ValidationInfo) -> str | None:
        unit = split_map(said)[2] if said else ""
        if unit:
            unit_scale(unit, SI[str(about.field_name)])
        return said


class AlsoRecorded(Table):
    """Another recorder's file of the same flight.

    ``clock`` is what its times need added to count as those of ``flight.record``; left out, the two clocks
    are set by the lift-off each has seen.
    """

    record: Name
    columns: LogColumns | None = None
    clock: Shift | None = None
