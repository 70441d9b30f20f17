"""The film on the inner sides of a base that is open to the air: an estimate, told as such."""

import numpy as np

from optitip.arrays import FloatArray
from optitip.flight.trajectory import Flight, Phase
from optitip.heating.descent import SHELTERED_FILM, cross_flow_film, still_air_film, together
from optitip.inputs.study_tables import Attitude
from optitip.properties.air import AIR, Gas

HOLLOW_SHARE = 0.3
"""Of the film across the stream: air in a hollow open at one end turns over at about a tenth of the stream's
speed, and films grow as V^0.5 to V^0.6 (common practice, no source)."""

_WALL = (300.0,)  # [K]: within a few per cent of the film at any wall that still holds heat


def hollow_film(
    flight: Flight, *, time: FloatArray, diameter: float, wind: float = 0.0, gas: Gas = AIR
) -> FloatArray:
    """Return the film coefficient (n_t,) [W/(m2 K)] on sides that face a hollow open to the air from aft.

    h = 0.3 h_across from the apogee on, with h_across of a cylinder of the hollow's ``diameter`` [m], natural
    convection in it; inside a shell the shell's own film; before the apogee, closed by the airframe, none.

    ``time`` (n_t,) [s]; ``wind`` [m/s] blows after landing. Positive: the air heats a colder wall.

    Valid as an estimate, by a factor of two either way.

    Source: Churchill & Bernstein 1977 for h_across; the share is common practice, no source.

    >>> flight = Flight(time=[0.0, 10.0, 20.0], altitude=[0.0] * 3, speed=[0.0, 30.0, 30.0],
    ...     temperature=[300.0] * 3, pressure=[101325.0] * 3, density=[1.177] * 3, phase=[1, 3, 3],
    ...     axial_acceleration=[0.0] * 3, events={}, kinks=(), attitude=Attitude.ACROSS, warnings=())
    >>> hollow_film(flight, time=np.array([5.0, 15.0]), diameter=0.05).round(0)  # 0.3 x 109
    array([ 0., 33.])
    """
    V, T, p = (
        np.interp(time, flight.time, one) for one in (flight.speed, flight.temperature, flight.pressure)
    )
    row = np.clip(np.searchsorted(flight.time, time, side="right") - 1, 0, flight.time.size - 1)
    phase = flight.phase[row]
    forced = cross_flow_film(
        np.maximum(V, wind), temperature=T, pressure=p, diameter=[diameter], wall=_WALL, gas=gas
    )[:, 0, 0]
    natural = still_air_film(T, pressure=p, diameter=diameter, wall=_WALL, gas=gas)[:, 0]
    film = HOLLOW_SHARE * together(forced, natural)
    if flight.attitude is Attitude.INSIDE:
        film[phase == Phase.DESCENT] = SHELTERED_FILM
    film[(phase != Phase.DESCENT) & (phase != Phase.SOAK)] = 0.0
    return film
