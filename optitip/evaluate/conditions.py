"""What a design is exposed to: flight, heating in each flow state, start and pocket pressure."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from optitip.errors import UserMistakes
from optitip.evaluate.building import Tip
from optitip.evaluate.heatings import KEPT, expected_name, heatings_of
from optitip.evaluate.parts import PART_NAMES, SHELL_PARTS
from optitip.evaluate.sources import atmosphere_of, flown
from optitip.flight.trajectory import Flight
from optitip.heating.knots import knots_of
from optitip.heating.table import Heating
from optitip.inputs.study import Study
from optitip.inputs.study_tables import Pad, StudyTables

LOWEST_POCKET_PRESSURE = 700.0  # [Pa]: below, water has no liquid to boil
NEARLY_ALL = 0.9
"""share of the climb's heat that is in when the sample boils"""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Conditions:
    """What a design is exposed to: flight (None under a heating table alone), heating of each state."""

    flight: Flight | None
    heatings: Mapping[str, Heating]
    start: float
    """[K] of the shell"""
    sample_start: float
    """[K] of the sample and its backing"""
    lift_off: float
    """[s] from which energies count"""
    landing: float
    kinks: tuple[float, ...]
    pocket_pressure: float
    warnings: tuple[str, ...]


def conditions_of(study: Study, tip: Tip, *, searching: bool = False, finer: int = 1) -> Conditions:
    """Return what the tip is exposed to, in all flow states of its flight or in those of a search alone.

    finer: heating stations for one of the usual row.
    """
    tables, folder = study.tables, study.folder
    flight = flown(study)
    pad = Pad() if tables.flight is None else tables.flight.pad
    heatings = heatings_of(
        tables.flow,
        folder=folder,
        outline=tip.outline,
        flight=flight,
        wind=pad.wind,
        sun=tables.tip.absorptivity * pad.sun,
        warmest=_warmest(tables),
        searching=searching,
        finer=finer,
    )
    expected = heatings[expected_name(tables.flow)]
    if flight is None or tables.flight is None:
        start = float(expected.recovery[0, -1])
        why = "the tip starts at its first recovery temperature, and "
        sample_start = _checked_starts(tip, start, place="flow.heating_table", why=why)
    else:
        given = tables.flight.start_temperature
        start = atmosphere_of(tables.flight).site_temperature if given is None else given
        sample_start = _checked_starts(tip, start, place="flight.start_temperature")
    notes = [note for heating in heatings.values() for note in heating.warnings]
    return Conditions(
        flight=flight,
        heatings=heatings,
        start=start,
        sample_start=sample_start,
        lift_off=float(expected.time[0]) if flight is None else 0.0,
        landing=float(expected.time[-1]) if flight is None else flight.events["landing"],
        kinks=(*(() if flight is None else flight.kinks), *_knots(tuple(heatings.values()))),
        pocket_pressure=(
            float(expected.pressure.min()) if flight is None else boiling_pressure(flight, expected, start)
        ),
        warnings=tuple(dict.fromkeys([*(() if flight is None else flight.warnings), *notes])),
    )


def _warmest(tables: StudyTables) -> float:
    """Return the warmest [K] that a part may begin at or have behind it, the flight's site left out."""
    given = None if tables.flight is None else tables.flight.start_temperature
    own = (given, tables.sample.start_temperature, tables.tip.base.nose_temperature)
    return max((one for one in own if one is not None), default=0.0)


@lru_cache(maxsize=KEPT)
def _knots(heatings: tuple[Heating, ...]) -> tuple[float, ...]:
    # flow states of one flight share their times, tables may each have their own
    return tuple(sorted({time for heating in heatings for time in knots_of(heating)}))


@lru_cache(maxsize=KEPT)
def boiling_pressure(flight: Flight, heating: Heating, start: float) -> float:
    """Return the pressure that a vented sample boils under [Pa]: when nine tenths of the heat are in.

    p(t) with the integral of h (T_r - T_start), where positive, at 0.9 of its value at the apogee; h and T_r
    half way along the outline. The pocket's pressure falls all along the climb; under this one the sample's
    peak energy is that under the falling pressure.

    start: [K] of the shell.
    Valid for flights whose heating ends well before the apogee; 700 Pa at least, under which there is no
    liquid water. Source: own measurement, four designs within 0.6 %.
    """
    station = int(np.abs(heating.arc_length - 0.5 * heating.arc_length[-1]).argmin())
    apogee = flight.events["apogee"]
    time = np.append(heating.time[heating.time < apogee], apogee)
    drive = np.asarray(heating.film)[:, station, 0] * (heating.recovery[:, station] - start)
    heat = np.interp(time, heating.time, np.maximum(drive, 0.0))
    taken = np.append(0.0, np.cumsum(0.5 * np.diff(time) * (heat[1:] + heat[:-1])))
    when = float(np.interp(NEARLY_ALL * taken[-1], taken, time))
    return max(float(np.interp(when, flight.time, flight.pressure)), LOWEST_POCKET_PRESSURE)


def _checked_starts(tip: Tip, start: float, *, place: str, why: str = "") -> float:
    """Return the sample's start [K], or raise where a part starts outside its material's table."""
    own = tip.tables.sample.start_temperature
    for part in PART_NAMES:
        if own is None or part in SHELL_PARTS:
            _check_start(tip, part, start, place=place, why=why)
        else:
            _check_start(tip, part, own, place="sample.start_temperature")
    return start if own is None else own


def _check_start(tip: Tip, part: str, start: float, *, place: str, why: str = "") -> None:
    for index in tip.parts.materials_of[part]:
        material = tip.materials[index]
        if not material.in_valid_range(start):
            low, high = (value - 273.15 for value in material.valid)
            raise UserMistakes.one(
                place,
                f"{why}{start - 273.15:.4g} degC is outside the table of {material.name}",
                f"Start between {low:.4g} and {high:.4g} degC, or choose another material",
            )
