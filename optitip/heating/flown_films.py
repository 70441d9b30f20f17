"""The films of a flight, laminar and turbulent, from which each flow state is mixed."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from optitip.arrays import BoolArray, FloatArray
from optitip.heating.course import Course
from optitip.heating.descent import (
    SHELTERED_FILM,
    cross_flow_film,
    cross_flow_recovery,
    still_air_film,
    together,
)
from optitip.heating.edge import Edge, edge_states
from optitip.heating.film import recovery_enthalpy, turbulent_plate_film
from optitip.heating.roughness import height_reynolds, wall_units
from optitip.heating.stagnation import laminar_film
from optitip.heating.stream import Stations, Stream, stream_of
from optitip.heating.swallowing import Layer
from optitip.heating.transition import TRIPPED_ONSET
from optitip.heating.van_driest import van_driest_film
from optitip.inputs.study_tables import TurbulentLaw
from optitip.properties.air import Gas

_COLD_WALL = 300.0  # K: a roughness counts for most while the wall is cold

_LAWS: dict[TurbulentLaw, Callable[..., FloatArray]] = {
    TurbulentLaw.REFERENCE_ENTHALPY: turbulent_plate_film,
    TurbulentLaw.VAN_DRIEST: van_driest_film,
}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Films:
    """What every flow state is mixed from."""

    laminar: FloatArray
    turbulent: FloatArray
    laminar_recovery: FloatArray
    turbulent_recovery: FloatArray
    pressure: FloatArray
    reynolds: FloatArray
    height_reynolds: FloatArray
    """of the surface's roughness in a laminar layer"""
    wall_units: FloatArray
    """height of the roughness where a layer may be turbulent, in its wall units"""


def films_of(
    course: Course,
    *,
    stations: Stations,
    wall: FloatArray,
    gas: Gas,
    law: TurbulentLaw | None,
    roughness: float,
) -> Films:
    """Return the films, what recovers and what they need, at each time and station.

    Without a ``law`` no turbulent layer is reckoned: the laminar films stand for its own.
    """
    shape = (course.time.size, stations.arc_length.size)
    laminar = np.empty((*shape, wall.size))
    films = Films(
        laminar=laminar,
        turbulent=laminar if law is None else np.empty_like(laminar),
        laminar_recovery=np.empty(shape),
        turbulent_recovery=np.empty(shape),
        pressure=np.repeat(course.pressure[:, None], shape[1], axis=1),
        reynolds=np.zeros(shape),
        height_reynolds=np.zeros(shape),
        wall_units=np.zeros(shape),
    )
    rows = course.ahead
    natural = still_air_film(
        course.temperature,
        pressure=course.pressure,
        diameter=2.0 * float(stations.radius.max(initial=stations.tip_radius)),
        wall=wall,
        gas=gas,
    )[:, None, :]
    if rows.any():
        _fill_ahead(
            films,
            course=course,
            rows=rows,
            stations=stations,
            wall=wall,
            natural=natural,
            gas=gas,
            law=law,
            roughness=roughness,
        )
    if not rows.all():
        _fill_others(films, course=course, rows=~rows, stations=stations, wall=wall, natural=natural, gas=gas)
    return films


def _fill_ahead(
    films: Films,
    *,
    course: Course,
    rows: BoolArray,
    stations: Stations,
    wall: FloatArray,
    natural: FloatArray,
    gas: Gas,
    law: TurbulentLaw | None,
    roughness: float,
) -> None:
    """Put in the rows at which the stream comes head on."""
    stream = stream_of(
        speed=course.speed[rows],
        temperature=course.temperature[rows],
        pressure=course.pressure[rows],
        gas=gas,
    )
    layers = (Layer.LAMINAR,) if law is None else (Layer.LAMINAR, Layer.TURBULENT)
    edges = edge_states(stream, stations=stations, gas=gas, layers=layers)
    quiet, mixed = edges[Layer.LAMINAR], edges[layers[-1]]
    laminar = laminar_film(stream, edge=quiet, stations=stations, wall=wall, gas=gas)
    films.laminar[rows] = together(laminar, natural[rows])
    quiet_recovery = _recovery(stream, edge=quiet, power=1.0 / 2.0, gas=gas)
    films.laminar_recovery[rows] = films.turbulent_recovery[rows] = quiet_recovery
    if law is not None:
        turbulent = _LAWS[law](stream, edge=mixed, stations=stations, wall=wall, gas=gas)
        films.turbulent[rows] = together(np.maximum(turbulent, laminar), natural[rows])
        films.turbulent_recovery[rows] = _recovery(stream, edge=mixed, power=1.0 / 3.0, gas=gas)
    films.pressure[rows] = quiet.pressure
    # up to its onset the layer is laminar
    films.reynolds[rows] = quiet.reynolds
    if roughness > 0.0:
        cold = int(np.argmin(np.abs(wall - _COLD_WALL)))
        at, Tw = (..., cold), float(wall[cold])
        units = wall_units(turbulent[at], edge=mixed, height=roughness, wall=Tw, gas=gas)
        films.wall_units[rows] = units * (mixed.reynolds > TRIPPED_ONSET)
        films.height_reynolds[rows] = height_reynolds(
            laminar[at], edge=quiet, height=roughness, wall=Tw, gas=gas
        )


def _recovery(stream: Stream, *, edge: Edge, power: float, gas: Gas) -> FloatArray:
    return gas.temperature(recovery_enthalpy(stream, edge=edge, factor=gas.prandtl**power))


def _fill_others(
    films: Films,
    *,
    course: Course,
    rows: BoolArray,
    stations: Stations,
    wall: FloatArray,
    natural: FloatArray,
    gas: Gas,
) -> None:
    """Put in the rows of the ground, of a descent across the stream and of one inside a shell."""
    air = {"temperature": course.temperature[rows], "pressure": course.pressure[rows]}
    speed, sheltered = course.speed[rows], course.sheltered[rows]
    diameter = 2.0 * np.maximum(stations.radius, stations.tip_radius)
    film = together(cross_flow_film(speed, **air, diameter=diameter, wall=wall, gas=gas), natural[rows])
    film[sheltered] = SHELTERED_FILM
    recovery = cross_flow_recovery(speed, temperature=air["temperature"], gas=gas)
    recovery = np.where(sheltered, air["temperature"], recovery)
    films.laminar[rows] = films.turbulent[rows] = film
    films.laminar_recovery[rows] = films.turbulent_recovery[rows] = recovery[:, None]
