"""The heating of a whole flight: the stream's films on the way up, others on the way down and on the ground.

The edge state and the laminar and turbulent films are reckoned once; each flow state then only weights them.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike

from optitip.arrays import FloatArray, frozen
from optitip.flight.trajectory import Flight
from optitip.heating.course import Course, course_of, warnings_of
from optitip.heating.flown_films import Films, films_of
from optitip.heating.roughness import roughness_warnings, tripped_at
from optitip.heating.stream import stations_of
from optitip.heating.sunlight import sunlight_absorbed
from optitip.heating.table import Heating
from optitip.heating.transition import BRACKET, FlowKind, FlowState, intermittency
from optitip.inputs.study_tables import TurbulentLaw
from optitip.properties.air import AIR, Gas

WALL = frozen([220.0, 280.0, 345.0, 420.0, 510.0, 615.0, 745.0, 915.0, 1155.0, 1500.0])
"""Wall temperatures [K] of the film's columns: straight lines between them stay within 0.3 % up to 900 K.

A flight has those up to the first that its air can't heat a wall to."""

_FEWEST_COLUMNS = 5  # to 510 K: a wall may start warmer than a slow flight's air
_SWITCH_STEP = 13.0  # K between the columns where air and wall decide the film: it switches within 20 K


def heat(
    flight: Flight,
    *,
    arc_length: ArrayLike,
    radius: ArrayLike,
    slope: ArrayLike,
    tip_radius: float,
    state: FlowState,
    wall: ArrayLike | None = None,
    gas: Gas = AIR,
    wind: float = 0.0,
    sun: float = 0.0,
    surroundings: float | None = None,
    turbulent_law: TurbulentLaw = TurbulentLaw.REFERENCE_ENTHALPY,
    roughness: float = 0.0,
) -> Heating:
    """Return the heating of the surface in one flow state; ``heat_states`` has the arguments and equations.

    Valid as ``heat_states``.

    Source: as ``heat_states``.

    >>> import numpy as np
    >>> from optitip.heating.transition import EXPECTED
    >>> from optitip.flight.trajectory import Attitude
    >>> flight = Flight(time=[0.0, 2.0], altitude=[0.0, 600.0], speed=[0.0, 600.0], phase=[1, 1],
    ...     temperature=[288.15, 284.25], pressure=[101325.0, 94322.0], density=[1.225, 1.156],
    ...     axial_acceleration=[300.0] * 2, events={}, kinks=(), attitude=Attitude.ACROSS, warnings=())
    >>> angle = np.linspace(0.0, 1.4, 15)
    >>> heating = heat(flight, arc_length=0.005 * angle, radius=0.005 * np.sin(angle),
    ...     slope=np.pi / 2 - angle, tip_radius=0.005, state=EXPECTED)
    >>> heating.recovery[1, 0].round()  # the total temperature, 284.25 + 600^2/(2 x 1011)
    np.float64(462.0)
    """
    return heat_states(
        flight,
        arc_length=arc_length,
        radius=radius,
        slope=slope,
        tip_radius=tip_radius,
        states=(state,),
        wall=wall,
        gas=gas,
        wind=wind,
        sun=sun,
        surroundings=surroundings,
        turbulent_law=turbulent_law,
        roughness=roughness,
    )[state.name]


def heat_states(
    flight: Flight,
    *,
    arc_length: ArrayLike,
    radius: ArrayLike,
    slope: ArrayLike,
    tip_radius: float,
    states: Sequence[FlowState] = BRACKET,
    wall: ArrayLike | None = None,
    gas: Gas = AIR,
    wind: float = 0.0,
    sun: float = 0.0,
    surroundings: float | None = None,
    warmest: float = 0.0,
    turbulent_law: TurbulentLaw = TurbulentLaw.REFERENCE_ENTHALPY,
    roughness: float = 0.0,
) -> dict[str, Heating]:
    """Return the heating in each flow state, by the state's name: q = film (recovery - wall), positive in.

    Boost and coast (and a descent tip forward): film = (1 - w) laminar + w turbulent, the recovery
    temperature by the same weight w. Laminar: Fay-Riddell and Lees round the tip, the plate's law along the
    side; turbulent: ``turbulent_law`` of the plate, never under the laminar film. A descent across the
    stream: a cylinder of the local diameter; inside a shell 5 W/(m2 K) to the air; pad and soak: still air,
    with ``wind`` [m/s] across. Natural convection is added to all but the shell as h^3 = hF^3 + hN^3: no film
    is ever zero.
    The state turbulent while heating keeps the turbulent recovery temperature with the laminar film. A
    ``roughness`` [m] that trips the layer puts the onsets forward to itself; it raises no film.

    ``arc_length``, ``radius`` [m] and ``slope`` [rad] are (n_s,), from the stagnation point aft (80 of them,
    spaced as the square of their number, err by 0.1 % past four tip radii); ``tip_radius`` [m]; ``wall``
    (n_w,) [K] are the film's columns, left out those of ``WALL`` above all that the air can heat it to and
    ``warmest`` [K], which is what it may begin at or have behind it. ``surroundings`` [K] is what the surface
    radiates to, else the air's own temperature. ``sun`` [W/m2] is what a face square to its beam takes up,
    absorptivity times irradiance, on the pad and in the soak: aloft the films are hundreds of times larger.
    Times are the flight's, with one more 1 ms before each change of attitude or of light.

    Valid from Mach 0 to 5 at no angle of attack; above raises OutOfRange. Transition is the uncertain part:
    hence several states.

    Source: Fay & Riddell 1958; Lees 1956; Eckert 1955; Dhawan & Narasimha 1958; Churchill & Bernstein 1977;
    Churchill & Chu 1975, each named in full beside its own function.

    >>> import numpy as np
    >>> from optitip.flight.trajectory import Attitude
    >>> flight = Flight(time=[0.0, 2.0], altitude=[0.0, 600.0], speed=[0.0, 600.0], phase=[1, 1],
    ...     temperature=[288.15, 284.25], pressure=[101325.0, 94322.0], density=[1.225, 1.156],
    ...     axial_acceleration=[300.0] * 2, events={}, kinks=(), attitude=Attitude.ACROSS, warnings=())
    >>> angle = np.linspace(0.0, 1.4, 15)
    >>> states = heat_states(flight, arc_length=0.005 * angle, radius=0.005 * np.sin(angle),
    ...     slope=np.pi / 2 - angle, tip_radius=0.005)
    >>> len(states), states["laminar"].film.shape
    (6, (2, 15, 5))
    """
    stations = stations_of(arc_length=arc_length, radius=radius, slope=slope, tip_radius=tip_radius)
    course = course_of(flight, wind=wind, lit=sun > 0.0)
    around = course.temperature if surroundings is None else np.full(course.time.size, surroundings)
    beside = max(warmest, float(around.max()))
    columns = columns_for(course, gas=gas, beside=beside) if wall is None else frozen(wall)
    sunlight = sunlight_absorbed(sun, slope=stations.slope)
    laminar_alone = roughness == 0.0 and all(state.kind is FlowKind.LAMINAR for state in states)
    films = films_of(
        course,
        stations=stations,
        wall=columns,
        gas=gas,
        law=None if laminar_alone else turbulent_law,
        roughness=roughness,
    )
    warnings = warnings_of(course, stations=stations, gas=gas)
    warnings += roughness_warnings(
        films.height_reynolds, films.wall_units, height=roughness, time=course.time
    )
    tripped = tripped_at(films.height_reynolds, arc_length=stations.arc_length) if roughness > 0.0 else None
    found = {}
    for state in states:
        weight = intermittency(films.reynolds, state=state, arc_length=stations.arc_length, tripped=tripped)
        weight = weight * course.ahead[:, None]
        film, its_wall = _mixed(films, state=state, weight=weight, wall=columns)
        found[state.name] = Heating(
            time=course.time,
            arc_length=stations.arc_length,
            wall=its_wall,
            film=film,
            recovery=_between(films.laminar_recovery, films.turbulent_recovery, weight),
            pressure=films.pressure,
            reynolds=films.reynolds,
            turbulent=weight,
            surroundings=around,
            name=state.name,
            warnings=warnings,
            absorbed=course.grounded[:, None] * sunlight,
        )
    return found


def columns_for(course: Course, *, gas: Gas, beside: float) -> FloatArray:
    """Return the film's wall temperatures [K]: to the first above all air and ``beside`` [K]."""
    level = gas.enthalpy(course.temperature) + 0.5 * course.speed * course.speed
    hottest = max(float(gas.temperature(level).max()), beside)
    return WALL[: max(int(np.searchsorted(WALL, hottest)) + 1, _FEWEST_COLUMNS)]


def _between(low: FloatArray, high: FloatArray, weight: FloatArray) -> FloatArray:
    return low + weight * (high - low)


def _mixed(
    films: Films, *, state: FlowState, weight: FloatArray, wall: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Return the state's film and its wall temperatures."""
    if state.kind in {FlowKind.LAMINAR, FlowKind.TURBULENT}:
        return (films.laminar if state.kind is FlowKind.LAMINAR else films.turbulent), wall
    if state.kind is FlowKind.ONSET or wall.size == 1:
        return _between(films.laminar, films.turbulent, weight[..., None]), wall
    # its columns stand closer, so that the switch from one film to the other is narrow
    count = int(np.ceil((wall[-1] - wall[0]) / _SWITCH_STEP)) + 1
    fine, step = np.linspace(wall[0], wall[-1], count, retstep=True)
    matrix = np.array([np.interp(fine, wall, unit) for unit in np.eye(wall.size)])
    film = films.laminar @ matrix
    # on the ground and across the stream the two films are one
    apart = np.flatnonzero(weight.any(axis=1))
    hotter = (films.turbulent_recovery[apart] / step + 0.5)[..., None] - fine / step
    np.clip(hotter, 0.0, 1.0, out=hotter)
    hotter *= (films.turbulent[apart] - films.laminar[apart]) @ matrix
    film[apart] += hotter
    return film, fine
