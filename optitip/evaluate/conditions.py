"""What a design is exposed to: flight, heating in each flow state, start and pocket pressure."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from optitip.errors import UserMistakes
from optitip.evaluate.building import Tip
from optitip.evaluate.heatings import (
    covered_heating,
    flown_heatings,
    states_of,
)
from optitip.evaluate.sources import atmosphere_of, flight_of, outline_size
from optitip.flight.trajectory import Flight
from optitip.heating.table import Heating
from optitip.inputs.study import Study

MOST_KNOTS = 200
LOWEST_POCKET_PRESSURE = 700.0  # [Pa]: below, water has no liquid to boil


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Conditions:
    """What a design is exposed to: its flight (None under a heating table) and the heating of each state."""

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
    if tables.flight is None:
        heating = covered_heating(tables.flow, folder=folder, outline=tip.outline)
        start = float(heating.recovery[0, -1])
        _check_start(tip, start)
        return Conditions(
            flight=None,
            heatings={heating.name: heating},
            start=start,
            landing=float(heating.time[-1]),
            kinks=_knots(heating),
            pocket_pressure=float(heating.pressure.min()),
            warnings=heating.warnings,
        )
    diameter, _ = outline_size(tables.outline, folder=folder)
    flight = flight_of(tables.flight, folder=folder, diameter=diameter)
    given = tables.flight.start_temperature
    start = atmosphere_of(tables.flight).site_temperature if given is None else given
    _check_start(tip, start)
    heatings = flown_heatings(
        flight, outline=tip.outline, states=states_of(tables.flow), surroundings=tables.flow.surroundings
    )
    return Conditions(
        flight=flight,
        heatings=heatings,
        start=start,
        landing=flight.events["landing"],
        kinks=(*flight.kinks, *_knots(next(iter(heatings.values())))),
        pocket_pressure=_boiling_pressure(flight),
        warnings=tuple(dict.fromkeys([*flight.warnings, *next(iter(heatings.values())).warnings])),
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


def _check_start(tip: Tip, start: float) -> None:
    for material in tip.materials:
        if not material.in_valid_range(start):
            low, high = (value - 273.15 for value in material.valid)
            raise UserMistakes.one(
                "flight.start_temperature",
                f"{start - 273.15:.4g} degC is outside the table of {material.name}",
                f"Start between {low:.4g} and {high:.4g} degC, or choose another material",
            )
