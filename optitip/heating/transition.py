"""Flow states: where and when the boundary layer is laminar or turbulent, and the bracket of them."""

from dataclasses import dataclass
from enum import Enum

import numpy as np
from numpy.typing import ArrayLike

from optitip.arrays import FloatArray

TRIPPED_ONSET = 1e5
"""Edge Reynolds number a trip needs to leave a turbulent flow behind it (from memory)."""


class FlowKind(Enum):
    """What decides whether the boundary layer is turbulent."""

    LAMINAR = "laminar all along"
    ONSET = "turbulent past an edge Reynolds number"
    TURBULENT = "turbulent all along"
    TURBULENT_WHILE_HEATING = "turbulent while the air is hotter than the wall, laminar after"


@dataclass(frozen=True, slots=True, kw_only=True)
class FlowState:
    """One assumption on the boundary layer; several make the bracket.

    >>> EXPECTED.name
    'onset at 1e6'
    """

    name: str
    kind: FlowKind
    onset: float = np.inf
    """edge Reynolds number by arc length from the stagnation point, for ``FlowKind.ONSET``"""
    trip: float | None = None
    """[m] arc length of a roughness that trips the layer, for ``FlowKind.ONSET``"""


def onset_state(reynolds: float, *, trip: float | None = None) -> FlowState:
    """Return the flow state whose transition starts at ``reynolds``, or behind a trip at ``trip`` [m].

    ``reynolds`` is rho u s/mu at the laminar layer's own edge, s the arc length from the stagnation point;
    ``trip`` an arc length. Behind a blunt tip that edge is the entropy layer's: at Mach 3 and 10 km, 0.1 m
    aft of a 3 mm tip on a 10 degree cone, the Reynolds number is 0.59 of the sharp cone's and 0.70 of the
    free stream's; so the onset lies further aft, as behind small bluntness it has been seen to.

    Valid above zero; in flight 5e5 (rough) to 3e6 (machined surfaces), from memory, said of the edge of sharp
    cones and plates.

    Source: common practice, no source.

    >>> onset_state(2.5e6).name
    'onset at 2.5e6'
    """
    mantissa, exponent = f"{reynolds:.3e}".split("e")
    name = f"onset at {float(mantissa):g}e{int(exponent)}"
    return FlowState(name=name, kind=FlowKind.ONSET, onset=float(reynolds), trip=trip)


def bracket(
    *, low_onset: float = 5e5, expected_onset: float = 1e6, high_onset: float = 2e6, trip: float | None = None
) -> tuple[FlowState, ...]:
    """Return the flow states that are run together: laminar, three onsets, turbulent, and the highest.

    The energy isn't monotone in the onset, and a turbulent ascent with a laminar coast may bring the most
    of all, so it takes more than a laminar and a turbulent run to bound it. Equal onsets count once.

    ``low_onset`` <= ``expected_onset`` <= ``high_onset`` are edge Reynolds numbers (dimensionless) by arc
    length from the stagnation point; ``trip`` [m] is the arc length of a trip, if there is one.

    Valid for slender tips in free flight: 5e5 on rough, 3e6 on machined surfaces, from memory.

    Source: the choice of states is common practice, no source.

    >>> [state.name for state in bracket()][1:4]
    ['onset at 5e5', 'onset at 1e6', 'onset at 2e6']
    """
    onsets = dict.fromkeys((low_onset, expected_onset, high_onset))
    return (
        FlowState(name="laminar", kind=FlowKind.LAMINAR),
        *(onset_state(onset, trip=trip) for onset in onsets),
        FlowState(name="turbulent", kind=FlowKind.TURBULENT),
        FlowState(name="turbulent while heating", kind=FlowKind.TURBULENT_WHILE_HEATING),
    )


BRACKET: tuple[FlowState, ...] = bracket()
"""The flow states run by default."""

EXPECTED: FlowState = onset_state(1e6)
"""The flow state a result is quoted at."""


def intermittency(
    reynolds: ArrayLike, *, state: FlowState, arc_length: ArrayLike, tripped: ArrayLike | None = None
) -> FloatArray:
    """Return the dimensionless share of the time (n_t, n_s) the layer is turbulent, 0 to 1.

    w = 1 - exp(-0.412 ((Re - Re_t)/Re_l)^2) past the onset Re_t and exactly 0 before it, over the length
    Re_l = 5 Re_t^0.8, which lies between w = 0.25 and 0.75. With a trip the onset falls, aft of it, to the
    Reynolds number at the trip, but not under 1e5, below which a trip is taken to leave the flow laminar.

    ``reynolds`` (n_t, n_s) of the edge by arc length; ``arc_length`` (n_s,) [m]; ``tripped`` (n_t,) [m] is
    where the surface's roughness trips the layer, infinity where it doesn't. ``TURBULENT`` and
    ``TURBULENT_WHILE_HEATING`` give 1: the latter's laminar part depends on the wall.

    Valid for natural transition on a smooth wall; the onset itself is the uncertain number.

    Source: Dhawan & Narasimha 1958, J. Fluid Mech. 3, 418; the trip's 1e5 is from memory.

    >>> state = onset_state(1e6)  # the length is 5 x 1e6^0.8 = 315,479
    >>> intermittency([[9e5, 1.315479e6]], state=state, arc_length=[0.1, 0.2]).round(3)  # 1 - exp(-0.412)
    array([[0.   , 0.338]])
    """
    Re, s = np.asarray(reynolds, dtype=np.float64), np.asarray(arc_length, dtype=np.float64)
    if state.kind is FlowKind.LAMINAR:
        return np.zeros_like(Re)
    if state.kind is not FlowKind.ONSET:
        return np.ones_like(Re)
    weight = _dhawan_narasimha(Re, np.float64(state.onset))
    for trip in (state.trip, tripped):
        if trip is not None:
            places = np.broadcast_to(np.asarray(trip, dtype=np.float64), len(Re))
            weight = np.maximum(weight, _behind_a_trip(Re, s, places=places))
    return weight


def _behind_a_trip(reynolds: FloatArray, arc_length: FloatArray, *, places: FloatArray) -> FloatArray:
    at_trip = np.array(
        [np.interp(place, arc_length, row) for place, row in zip(places, reynolds, strict=True)]
    )
    weight = _dhawan_narasimha(reynolds, np.maximum(at_trip, TRIPPED_ONSET)[:, None])
    return np.where(arc_length >= places[:, None], weight, 0.0)


def _dhawan_narasimha(reynolds: FloatArray, onset: ArrayLike) -> FloatArray:
    start = np.asarray(onset, dtype=np.float64)
    past = np.maximum(reynolds - start, 0.0) / (5.0 * start**0.8)
    weight: FloatArray = -np.expm1(-0.412 * past * past)
    return weight
