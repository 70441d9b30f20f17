"""From the study's tables to flight, outline, materials: read once, kept for all designs that share them."""

from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache
from pathlib import Path

import numpy as np

from optitip.errors import Mistake, UserMistakes
from optitip.flight.ascent import from_ascent
from optitip.flight.atmosphere import Atmosphere, site_atmosphere
from optitip.flight.descent import DescentPlan
from optitip.flight.reading import Reading, read_flight
from optitip.flight.trajectory import Flight
from optitip.flight.varied import as_vehicle, varied_vehicle
from optitip.flight.vehicle import Vehicle
from optitip.geometry.measured import MeasuredProfile, smooth_profile
from optitip.geometry.outline import Outline, family_outline, smoothed_outline
from optitip.inputs import study_tables
from optitip.inputs.curves import ThrustCurve, read_thrust
from optitip.inputs.defaults import completed_lengths
from optitip.inputs.recording import Recording, read_recording
from optitip.inputs.study import OWN_MATERIALS, Study
from optitip.inputs.swept import swept_options
from optitip.inputs.tables import Column, read_table
from optitip.properties.materials import Material, load_material
from optitip.properties.threads import Thread, thread_of
from optitip.properties.water import boiling_temperature
from optitip.units import UnitError

KEPT = 64
RAIL_LENGTH = 3.0
"""[m] of a record's rail, where a varied flight of it leaves"""


@lru_cache(maxsize=KEPT)
def flight_of(table: study_tables.Flight, *, folder: Path, diameter: float) -> Flight:
    """Return the study's flight; the drag is referred to ``diameter`` [m] unless the ascent has its own."""
    if table.varied is not None:
        return _varied_flight(table, table.varied, folder=folder, diameter=diameter)
    air = atmosphere_of(table)
    if table.ascent is not None:
        thrust = read_thrust(folder / table.ascent.thrust)
        vehicle = _vehicle(table.ascent, thrust, folder=folder, diameter=diameter)
        flight = _ascended(table, vehicle, air=air)
        return replace(flight, warnings=(*thrust.notes, *flight.warnings))
    recordings = [read_recording(folder / str(table.record), columns=table.columns)]
    recordings += [read_recording(folder / one.record, columns=one.columns) for one in table.also]
    return recorded_flight(table, recordings, air=air).flight


def _ascended(table: study_tables.Flight, vehicle: Vehicle, *, air: Atmosphere) -> Flight:
    """Return the flight of a vehicle from the study's site, off its rail and down as it plans."""
    angle, length = _rail(table)
    return from_ascent(
        vehicle,
        atmosphere=air,
        rail_angle=angle,
        rail_length=length,
        descent=_plan(table.descent),
        pad=table.pad.wait,
        soak=table.soak,
    )


def _rail(table: study_tables.Flight) -> tuple[float, float]:
    """Return the rail's angle [rad] and length [m]; that of a record is as long as those of ascents are."""
    if table.ascent is None:
        return table.rail_angle, RAIL_LENGTH
    return table.ascent.rail_angle, table.ascent.rail_length


def _varied_flight(
    table: study_tables.Flight, varied: study_tables.Varied, *, folder: Path, diameter: float
) -> Flight:
    """Return the study's flight to another peak Mach number or with another burn, and what was done to it."""
    plain = table.model_copy(update={"varied": None})
    own, air = flight_of(plain, folder=folder, diameter=diameter), atmosphere_of(table)
    if table.ascent is None:
        vehicle = as_vehicle(own)
        read = "thrust and drag per mass are read off the record, the way down is the study's"
    else:
        thrust = read_thrust(folder / table.ascent.thrust)
        vehicle = _vehicle(table.ascent, thrust, folder=folder, diameter=diameter)
        read = "the same propellant, as much as that takes"
    angle, length = _rail(table)
    mach = own.peak_mach if varied.peak_mach is None else varied.peak_mach
    burn = own.events["burnout"] if varied.burn is None else varied.burn
    scaled, done = varied_vehicle(
        vehicle,
        peak_mach=mach,
        longer=burn / own.events["burnout"],
        atmosphere=air,
        rail_angle=angle,
        rail_length=length,
    )
    flight = _ascended(table, scaled, air=air)
    # what is read off a record pushes a little past its burnout, which is where it was read
    flight = replace(flight, events={**flight.events, "burnout": burn})
    note = (
        f"the flight is varied to Mach {mach:.2f} with a burn of {burn:.2f} s: thrust times "
        f"{done.thrust:.3g}, its times {done.time:.3g}; drag and mass without propellant stay; {read}"
    )
    return replace(flight, warnings=(note, *own.warnings, *flight.warnings))


def recorded_flight(
    table: study_tables.Flight, recordings: Sequence[Recording], *, air: Atmosphere
) -> Reading:
    """Return the flight in the study's recordings, ``flight.record`` first; how it was read is a warning."""
    clocks = {one.record: one.clock for one in table.also if one.clock is not None}
    reading = read_flight(
        [channel for recording in recordings for channel in recording.channels],
        altitude_above=table.altitude_above,
        atmosphere=air,
        smoothing=table.smoothing,
        gap=table.gap,
        lag=table.lag,
        spikes=table.spikes,
        rail_angle=table.rail_angle,
        clocks={Path(record).name: clock for record, clock in clocks.items()},
        descent=_plan(table.descent),
        pad=table.pad.wait,
        soak=table.soak,
        place=str(table.record),
    )
    notes = [note for recording in recordings for note in recording.notes]
    return replace(reading, flight=replace(reading.flight, warnings=(*notes, *reading.flight.warnings)))


def _plan(table: study_tables.Descent) -> DescentPlan:
    return DescentPlan(
        attitude=table.attitude,
        drogue_rate=table.drogue_rate,
        main_height=table.main_height,
        main_rate=table.main_rate,
    )


def flown(study: Study) -> Flight | None:
    """Return the study's flight; None under a heating table alone."""
    if study.tables.flight is None:
        return None
    diameter, _ = outline_size(study.tables.outline, folder=study.folder)
    return flight_of(study.tables.flight, folder=study.folder, diameter=diameter)


def turned_outline(study: Study) -> Outline:
    """Return the study's turned outline, what the study leaves out of it by default."""
    tables, folder = study.tables, study.folder
    diameter, length = outline_size(tables.outline, folder=folder)
    lengths = completed_lengths(tables, diameter=diameter, length=length)
    return outline_of(
        tables.outline, folder=folder, turned_length=lengths.turned_length, tip_radius=lengths.tip_radius
    )


def atmosphere_of(table: study_tables.Flight) -> Atmosphere:
    """Return the standard atmosphere shifted to the study's site and day."""
    return site_atmosphere(
        table.site_altitude, temperature=table.site_temperature, pressure=table.site_pressure
    )


def _vehicle(table: study_tables.Ascent, thrust: ThrustCurve, *, folder: Path, diameter: float) -> Vehicle:
    drag = read_table(
        folder / table.drag,
        columns={"mach": Column(unit="1", increasing=True), "drag coefficient": Column(unit="1")},
    )
    return Vehicle(
        thrust_time=thrust.time,
        thrust=thrust.thrust,
        start_mass=table.start_mass,
        propellant_mass=table.propellant_mass,
        diameter=diameter if table.diameter is None else table.diameter,
        drag_mach=drag["mach"],
        drag_coefficient=drag["drag coefficient"],
    )


@lru_cache(maxsize=KEPT)
def outline_size(table: study_tables.OutlineShape, *, folder: Path) -> tuple[float, float]:
    """Return diameter and length [m] of the whole outline."""
    if table.profile is None:
        assert table.diameter is not None and table.length is not None  # noqa: PT018 (the schema holds it)
        return table.diameter, table.length
    profile = _profile(folder / table.profile)
    return 2.0 * float(profile["radius"].max()), float(np.ptp(profile["axial"]))


@lru_cache(maxsize=KEPT)
def outline_of(
    table: study_tables.OutlineShape, *, folder: Path, turned_length: float | None, tip_radius: float
) -> Outline:
    """Return the turned outline, or the whole nose's; lengths [m] as completed by the defaults."""
    if table.profile is not None:
        smoothed = _smoothed(folder / table.profile)
        return smoothed_outline(smoothed, turned_length=turned_length, tip_radius=table.tip_radius)
    assert table.family is not None
    diameter, length = outline_size(table, folder=folder)
    return family_outline(
        table.family,
        diameter=diameter,
        length=length,
        turned_length=turned_length,
        tip_radius=tip_radius,
        exponent=table.exponent,
    )


@lru_cache(maxsize=KEPT)
def _smoothed(path: Path) -> MeasuredProfile:
    profile = _profile(path)
    return smooth_profile(profile["axial"], profile["radius"])


@lru_cache(maxsize=KEPT)
def _profile(path: Path) -> dict[str, np.ndarray]:
    columns = {
        "axial": Column(unit="m", increasing=True, aliases=("z",), lowest=-10.0, highest=10.0),
        "radius": Column(unit="m", aliases=("r",), lowest=0.0, highest=10.0),
    }
    return dict(read_table(path, columns=columns, least_rows=10))


@lru_cache(maxsize=KEPT)
def material_of(name: str, *, folder: Path) -> Material:
    """Return a material; a file in the study's own ``materials`` folder comes before the package's."""
    return load_material(name, folder=folder / OWN_MATERIALS)


@lru_cache(maxsize=KEPT)
def boiling_under(material: Material, *, pressure: float | None) -> Material:
    """Return the material with its boiling moved to the pressure of the pocket [Pa]; None: nothing boils."""
    if material.boiling is None:
        return material
    if pressure is None:
        return replace(material, boiling=None)
    moved = replace(material.boiling, temperature=float(boiling_temperature(pressure)))
    return replace(material, boiling=moved)


def material_mistakes(study: Study) -> list[Mistake]:
    """Return what is wrong with the materials a study names, its sweep's included, all together."""
    tables, folder, file = study.tables, study.folder, study.path.name
    base, plug = tables.tip.base.material, tables.tip.plug.material
    backing = tables.sample.backing.material if tables.sample.backing else None
    named: dict[str, str | None] = {
        "tip.material": tables.tip.material,
        "tip.plug.material": plug,
        "tip.base.material": base,
        "sample.material": tables.sample.material,
        "sample.backing.material": backing,
    }
    pairs = [(key, key, name) for key, name in named.items()]
    options = [(place, key, one) for place, values in swept_options(study.raw) for key, one in values.items()]
    pairs += [(key, place, str(one)) for place, key, one in options if key in named]
    mistakes: list[Mistake] = []
    for key, place, name in pairs:
        if name is None:
            continue
        try:
            material = material_of(name, folder=folder)
        except UserMistakes as error:
            mistakes += [Mistake(f"{file}, {place}", one.problem, one.remedy) for one in error.mistakes]
            continue
        if key.startswith("tip.") and material.elastic is None:
            problem = f"'{name}' has no strength figures, so no shell can be judged"
            mistakes.append(Mistake(f"{file}, {place}", problem, "Choose one with an elastic table"))
    return mistakes


@lru_cache(maxsize=KEPT)
def thread_at(written: str, *, place: str) -> Thread:
    """Return the thread of a designation in the study, or raise the user's mistake at its place."""
    try:
        return thread_of(written)
    except UnitError as error:
        raise UserMistakes.one(place, error.problem, error.remedy) from None
