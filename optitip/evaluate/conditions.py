"""What a design is exposed to: flight, heating in each flow state, start and pocket pressure."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from optitip.errors import UserMistakes
from optitip.evaluate.building import Tip
from optitip.evaluate.heatings import expected_name, heatings_of
from optitip.evaluate.sources import atmosphere_of, flown
from optitip.flight.trajectory import Flight
from optitip.heating.table import Heating
from optitip.inputs.study import Study

MOST_KNOTS = 200
LOWEST_POCKET_PRESSURE = 700.0  # [Pa]: below, water has no liquid to boil


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Conditions:
    """What a design is exposed to: flight (None under a heating table alone), heating of each state."""

    flight: Flight | None
    heatings: Mapping[str, Heating]
    start: float
    landing: float
    kinks: tuple[float, ...]
    pocket_pressure: float
    warnings: tuple[str, ...]


def conditions_of(study: Study, tip: Tip) -> Conditions:
    """Return what the tip is exposed to."""
    tables, folder = study.tables, study.folder
    flight = flown(study)
    heatings = heatings_of(tables.flow, folder=folder, outline=tip.outline, flight=flight)
    expected = heatings[expected_name(tables.flow)]
    if flight is None or tables.flight is None:
        start = float(expected.recovery[0, -1])
        why = "the tip starts at its first recovery temperature, and "
        _check_start(tip, start, place="flow.heating_table", why=why)
    else:
        given = tables.flight.start_temperature
        start = atmosphere_of(tables.flight).site_temperature if given is None else given
        _check_start(tip, start, place="flight.start_temperature")
    notes = [note for heating in heatings.values() for note in heating.warnings]
    return Conditions(
        flight=flight,
        heatings=heatings,
        start=start,
        landing=float(expected.time[-1]) if flight is None else flight.events["landing"],
        kinks=(*(() if flight is None else flight.kinks), *_knots(expected)),
        pocket_pressure=float(expected.pressure.min()) if flight is None else _boiling_pressure(flight),
        warnings=tuple(dict.fromkeys([*(() if flight is None else flight.warnings), *notes])),
    )


def _knots(heating: Heating) -> tuple[float, ...]:
    """Return the heating's own times for steps to land on; a finer table is smooth enough without.

    On 66 knots they cost 13 more steps of 61 and took the error of the landing energy from 3 % to 0.03 %.
    """
    return tuple(heating.time.tolist()) if heating.time.size <= MOST_KNOTS else ()


def _boiling_pressure(flight: Flight) -> float:
    """Return the pressure the sample boils under [Pa]: the mean from burnout to apogee, when it is hot."""
    times = np.linspace(flight.events["burnout"], flight.events["apogee"], 32)
    return max(float(np.interp(times, flight.time, flight.pressure).mean()), LOWEST_POCKET_PRESSURE)


def _check_start(tip: Tip, start: float, *, place: str, why: str = "") -> None:
    for material in tip.materials:
        if not material.in_valid_range(start):
            low, high = (value - 273.15 for value in material.valid)
            raise UserMistakes.one(
                place,
                f"{why}{start - 273.15:.4g} degC is outside the table of {material.name}",
                f"Start between {low:.4g} and {high:.4g} degC, or choose another material",
            )
