"""The outside of one design against the given outline: drag, shock and stability are not to change."""

from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

import numpy as np

from optitip.arrays import FloatArray
from optitip.evaluate.building import Tip, build_tip
from optitip.evaluate.given import given_outline, untouched, whole_nose
from optitip.evaluate.sources import flown, outline_size
from optitip.flight.trajectory import Flight
from optitip.geometry.mesh import DEFAULT_RESOLUTION
from optitip.geometry.outline import Outline
from optitip.heating.cone_flow import cone_table
from optitip.heating.pressure import pressure_coefficient
from optitip.heating.stream import Stations, stations_of
from optitip.inputs.study import Study
from optitip.inputs.study_tables import StudyTables, Vehicle
from optitip.metrics.outside import (
    BALLAST,
    DRAG,
    MARGIN,
    NO_WAVES,
    PRESSURE_CENTRE,
    ballast_mass,
    exchanged,
    pressure_centre_shift,
    slender_pressure_centre,
    static_margin,
    wave_drag,
)
from optitip.units import text

KEPT = 64
MACH_NUMBERS = 4
SPHERE_STATIONS, SIDE_STATIONS = 8, 32
FLUSH = 5e-5  # [m] of diameter: a turned joint is no truer
SLOWEST_JUDGED = 1.5  # Mach number: below, a curved nose's pressures are bridged rather than reckoned


@dataclass(frozen=True, slots=True, kw_only=True)
class DragChange:
    """Wave drag coefficients on the given outline's circle, at the Mach number where they differ most."""

    mach: float
    before: float
    after: float

    @property
    def waves(self) -> bool:
        """Return whether the flight is fast enough for waves; else no outline has any."""
        return self.mach > NO_WAVES


@dataclass(frozen=True, slots=True, kw_only=True)
class StabilityChange:
    """What the tip does to the static margin; stations [m] from the given nose point, margins in calibres."""

    tip_mass: float
    replaced_mass: float
    centre_of_mass_shift: float
    pressure_centre_shift: float
    change: float
    bound: bool
    """the vehicle's normal force slope is unknown, so the change is the least it can be"""
    before: float | None
    after: float | None
    ballast: float | None
    """[kg] that restores the margin; None where none at ``station`` can"""
    station: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Outside:
    """One design against the given outline; ``drag`` is None without a flight or with nothing touched."""

    touched: bool
    drag: DragChange | None = None
    pressure_centre_change: float = 0.0
    stability: StabilityChange | None = None
    warnings: tuple[str, ...] = ()

    @property
    def metrics(self) -> dict[str, float]:
        """Return the metrics that have a value, by name; all nought on the outline where it is untouched."""
        found = {PRESSURE_CENTRE: self.pressure_centre_change}
        if self.drag is not None:
            found[DRAG] = self.drag.after - self.drag.before
        elif not self.touched:
            found[DRAG] = 0.0
        if self.stability is not None:
            found[MARGIN] = self.stability.change
            if self.stability.ballast is not None:
                found[BALLAST] = self.stability.ballast
        return found

    @property
    def missing(self) -> dict[str, str]:
        """Return why a metric has no value."""
        reasons = {DRAG: "a heating table has no flight, so no Mach number"}
        if self.stability is None:
            reasons |= dict.fromkeys((MARGIN, BALLAST), "the study's [vehicle] gives no masses")
        else:
            reasons[BALLAST] = "no ballast at vehicle.ballast_station restores the margin"
        return {name: reason for name, reason in reasons.items() if name not in self.metrics}


def outside_of(tables: StudyTables, *, folder: Path, tip: Tip, flight: Flight | None) -> Outside:
    """Return what a built tip's outside and mass change for the vehicle."""
    given_table = given_outline(tables)
    touched = not untouched(tables, folder=folder)
    warnings = _detached(tip.outline, flight)
    drag, nose_shift, moved_aft = None, 0.0, 0.0
    if touched:
        given, own = whole_nose(given_table, folder=folder), whole_nose(tables.outline, folder=folder)
        moved_aft = given.turned_length - own.turned_length
        # both from the given nose point: the base's plane stays, so the lengths cancel
        nose_shift = _pressure_centre(own, given) - _pressure_centre(given, given)
        if flight is not None:
            drag = _drag_change(given, own, top_mach=float(flight.mach.max()))
        warnings += _step(given, own)
    stability = None
    if tables.vehicle is not None and tables.vehicle.mass is not None:
        diameter, _ = outline_size(given_table, folder=folder)
        stability = _stability(
            tip, tables.vehicle, diameter=diameter, moved_aft=moved_aft, nose_shift=nose_shift
        )
        warnings += _joint_moved(moved_aft)
        if stability.after is not None and stability.after < 0.0:
            warnings.append(f"the static margin is {stability.after:.2f} calibres: the vehicle isn't stable")
    return Outside(
        touched=touched,
        drag=drag,
        pressure_centre_change=nose_shift,
        stability=stability,
        warnings=tuple(warnings),
    )


def outside_of_study(study: Study) -> Outside:
    """Return the same of the study's own design, built for this alone."""
    tip = build_tip(study.tables, folder=study.folder, resolution=DEFAULT_RESOLUTION)
    return outside_of(study.tables, folder=study.folder, tip=tip, flight=flown(study))


@lru_cache(maxsize=KEPT)
def _pressure_centre(nose: Outline, given: Outline) -> float:
    """Return the centre of pressure [m from the given nose point] of a nose with the given one's base."""
    base = np.pi / 4.0 * given.diameter**2
    return slender_pressure_centre(nose.volume, length=given.turned_length, base_area=base)


def _drag_change(given: Outline, own: Outline, *, top_mach: float) -> DragChange:
    """Return the change where it is largest in size, from Mach 1.5 to the flight's greatest Mach number."""
    before = _wave_drag(given, top_mach, given.diameter)
    after = _wave_drag(own, top_mach, given.diameter)
    worst = int(np.argmax(np.abs(after - before)))
    mach = float(_mach_numbers(top_mach)[worst])
    return DragChange(mach=mach, before=float(before[worst]), after=float(after[worst]))


def _mach_numbers(top_mach: float) -> FloatArray:
    return np.linspace(min(SLOWEST_JUDGED, top_mach), top_mach, MACH_NUMBERS)


@lru_cache(maxsize=KEPT)
def _wave_drag(outline: Outline, top_mach: float, diameter: float) -> FloatArray:
    stations, mach = _stations(outline), _mach_numbers(top_mach)
    pressure = pressure_coefficient(mach, stations=stations)
    return wave_drag(pressure, mach=mach, radius=stations.radius, reference_radius=0.5 * diameter)


def _stations(outline: Outline) -> Stations:
    """Return stations from the nose point to the end: even on the sphere, then growing aft."""
    end = max(outline.sphere_arc, 0.02 * outline.total_arc)
    side = end + (outline.total_arc - end) * np.linspace(0.0, 1.0, SIDE_STATIONS) ** 1.7
    arc_length = np.concatenate([np.linspace(0.0, end, SPHERE_STATIONS)[:-1], side])
    _, radius, slope = outline.at(arc_length)
    return stations_of(arc_length=arc_length, radius=radius, slope=slope, tip_radius=outline.tip_radius)


@lru_cache(maxsize=KEPT)
def _side_slope(outline: Outline) -> float:
    """Return the slope [rad] at which the side begins, aft of the sphere or of the outline's own round."""
    if outline.sphere_arc > 0.0:
        return float(outline.at(outline.sphere_arc)[2])
    return _stations(outline).joint_slope


@lru_cache(maxsize=KEPT)
def _largest_slope(flight: Flight) -> tuple[float, float]:
    """Return the flight's greatest Mach number and the half angle [rad] that holds a shock there."""
    mach = float(flight.mach.max())
    return mach, float(cone_table().largest_half_angle(mach))


def _detached(outline: Outline, flight: Flight | None) -> list[str]:
    """Return a line if the side can't hold an attached shock even at the flight's greatest Mach number."""
    if flight is None:
        return []
    mach, largest = _largest_slope(flight)
    if mach <= 1.0:
        return []
    side = _side_slope(outline)
    if side <= largest:
        return []
    return [
        f"a detached shock: aft of its round tip the side begins at {np.degrees(side):.1f} deg, and Mach "
        f"{mach:.2f} holds a shock to {np.degrees(largest):.1f} deg at most (ahead of the round tip itself "
        "the shock always stands off)"
    ]


def _step(given: Outline, own: Outline) -> list[str]:
    if abs(own.diameter - given.diameter) <= FLUSH:
        return []
    return [
        f"the outline is {text(own.diameter, 'm')} wide and the given one {text(given.diameter, 'm')}: the "
        "drag of the step between them is left out"
    ]


def _joint_moved(moved_aft: float) -> list[str]:
    """Return a line if the plane where the tip ends has moved on the vehicle, and metal with it."""
    if abs(moved_aft) < 10.0 * FLUSH:
        return []
    way = "aft" if moved_aft > 0.0 else "fore"
    return [
        f"nose point and aft end of the tip lie {text(abs(moved_aft), 'm', digits=2)} further {way}: what "
        "the rest of the nose gains or loses there is in none of the masses"
    ]


def _stability(
    tip: Tip, vehicle: Vehicle, *, diameter: float, moved_aft: float, nose_shift: float
) -> StabilityChange:
    assert vehicle.mass is not None and vehicle.centre_of_mass is not None  # noqa: PT018 (the schema holds it)
    assert vehicle.replaced_mass is not None and vehicle.replaced_centre_of_mass is not None  # noqa: PT018
    tip_mass, centre = _weighed(tip)
    mass, after = exchanged(
        vehicle.mass,
        centre=vehicle.centre_of_mass,
        removed=(vehicle.replaced_mass, vehicle.replaced_centre_of_mass),
        added=(tip_mass, centre + moved_aft),
    )
    shift = pressure_centre_shift(nose_shift, normal_force_slope=vehicle.normal_force_slope)
    end = moved_aft + tip.outline.turned_length
    station = end if vehicle.ballast_station is None else vehicle.ballast_station
    change = (shift - (after - vehicle.centre_of_mass)) / diameter
    before = None
    if vehicle.centre_of_pressure is not None:
        before = static_margin(
            vehicle.centre_of_pressure, centre_of_mass=vehicle.centre_of_mass, diameter=diameter
        )
    return StabilityChange(
        tip_mass=tip_mass,
        replaced_mass=vehicle.replaced_mass,
        centre_of_mass_shift=after - vehicle.centre_of_mass,
        pressure_centre_shift=shift,
        change=change,
        bound=vehicle.normal_force_slope is None and nose_shift != 0.0,
        before=before,
        after=None if before is None else before + change,
        ballast=ballast_mass(mass, centre=after, wanted=vehicle.centre_of_mass + shift, station=station),
        station=station,
    )


def _weighed(tip: Tip) -> tuple[float, float]:
    """Return mass [kg] and centre [m from its own nose point] of shell, insert, sample and backing."""
    parts = tip.parts
    density = np.array([one.density for one in tip.materials])[parts.cell_material]
    corners = np.where(parts.lined, tip.share, 1.0) * density * tip.corner_volume
    mass = float(corners.sum())
    return mass, float((corners * tip.mesh.points[tip.mesh.cells, 1].T).sum()) / mass
