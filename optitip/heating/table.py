"""The heating: film coefficient and recovery temperature over time, arc length and wall temperature."""

from collections.abc import Iterator
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import ArrayLike

from optitip.arrays import FloatArray, frozen
from optitip.errors import Mistake, UserMistakes

STANDARD_PRESSURE = 101325.0
"""[Pa], US Standard Atmosphere 1976."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Heating:
    """What is done to the surface: q = film (recovery - wall) + absorbed [W/m2], positive into the body.

    Between its times, arc lengths and wall temperatures everything is linear; outside them it is held.
    """

    time: FloatArray
    """(n_t,) [s] strictly increasing"""
    arc_length: FloatArray
    """(n_s,) [m] from the stagnation point, strictly increasing"""
    wall: FloatArray
    """(n_w,) [K] wall temperatures of the film's columns"""
    film: FloatArray
    """(n_t, n_s, n_w) [W/(m2 K)]"""
    recovery: FloatArray
    """(n_t, n_s) [K]"""
    pressure: FloatArray
    """(n_t, n_s) [Pa] on the surface"""
    reynolds: FloatArray
    """(n_t, n_s) of the edge by arc length; zero where no boundary layer was reckoned"""
    turbulent: FloatArray
    """(n_t, n_s) share of the time the layer is turbulent, 0 to 1"""
    surroundings: FloatArray
    """(n_t,) [K] the surface radiates to"""
    name: str
    """of the flow state"""
    warnings: tuple[str, ...]
    """what a person should know about how it was reckoned or read"""
    absorbed: FloatArray = field(default_factory=lambda: np.zeros(1))
    """(n_t, n_s) [W/m2], or what broadcasts to it, taken up whatever the wall does, such as sunlight"""

    def __post_init__(self) -> None:
        """Copy and freeze the arrays."""
        for name in ("time", "arc_length", "wall", "film", "recovery", "pressure", "reynolds", "turbulent"):
            object.__setattr__(self, name, frozen(getattr(self, name)))
        object.__setattr__(self, "surroundings", frozen(self.surroundings))
        object.__setattr__(self, "absorbed", frozen(np.broadcast_to(self.absorbed, self.recovery.shape)))


def from_table(
    *,
    time: ArrayLike,
    arc_length: ArrayLike,
    film: ArrayLike,
    recovery: ArrayLike,
    pressure: ArrayLike | None = None,
    surroundings: float = 288.15,
    name: str = "heating table",
    place: str = "flow.heating_table",
) -> Heating:
    """Return the heating that a table of rows (time, arc length, film, recovery) gives, used as it is.

    The rows must fill a grid: each time with each arc length once, in any order. The film doesn't depend on
    the wall: ``wall`` has one column.

    ``time`` [s], ``arc_length`` [m], ``film`` [W/(m2 K)], ``recovery`` [K] and ``pressure`` [Pa] are flat,
    (n_t n_s,). Without ``pressure`` it is 101,325 Pa throughout, with a warning. ``surroundings`` [K] is
    what the surface radiates to; ``place`` is the study's key a mistake is reported at.

    Valid for any grid; anything else raises UserMistakes with every mistake found.

    Source: the table's own author.

    >>> heating = from_table(time=[0, 0, 1, 1], arc_length=[0.0, 0.1, 0.0, 0.1], film=[0, 0, 90, 80],
    ...     recovery=[288, 288, 400, 390])
    >>> heating.film[1, :, 0].tolist(), heating.recovery[1].tolist()
    ([90.0, 80.0], [400.0, 390.0])
    """
    columns = {"time": time, "arc_length": arc_length, "film": film, "recovery": recovery}
    if pressure is not None:
        columns["pressure"] = pressure
    rows = {key: np.asarray(values, dtype=np.float64) for key, values in columns.items()}
    mistakes = list(_bad_values(rows, place=place)) or list(_holes(rows, place=place))
    if mistakes:
        raise UserMistakes(mistakes)
    order = np.lexsort((rows["arc_length"], rows["time"]))
    times, stations = np.unique(rows["time"]), np.unique(rows["arc_length"])
    shape = (times.size, stations.size)
    standard = np.full(order.size, STANDARD_PRESSURE)
    warnings = () if pressure is not None else ("the heating table has no pressure: 101,325 Pa is taken",)
    return Heating(
        time=times,
        arc_length=stations,
        wall=frozen([288.15]),
        film=rows["film"][order].reshape(*shape, 1),
        recovery=rows["recovery"][order].reshape(shape),
        pressure=rows.get("pressure", standard)[order].reshape(shape),
        reynolds=np.zeros(shape),
        turbulent=np.zeros(shape),
        surroundings=np.full(times.size, surroundings),
        name=name,
        warnings=warnings,
    )


def covering(heating: Heating, *, arc_length: ArrayLike, end_time: float) -> Heating:
    """Return the heating at the stations ``arc_length``, lasting at least until ``end_time``.

    Linear along the surface; a station outside the table takes its nearest one, a time after its end takes
    its last row, each with a warning.

    ``arc_length`` (n_s,) [m] strictly increasing, ``end_time`` [s].

    Valid for any stations.

    Source: common practice, no source.

    >>> given = from_table(time=[0, 0, 1, 1], arc_length=[0.0, 0.1, 0.0, 0.1], film=[0, 0, 90, 80],
    ...     recovery=[288, 288, 400, 390], pressure=[1e5] * 4)
    >>> wanted = covering(given, arc_length=[0.05, 0.2], end_time=3.0)
    >>> wanted.film[-1, :, 0].tolist(), wanted.time.tolist(), len(wanted.warnings)
    ([85.0, 80.0], [0.0, 1.0, 3.0], 2)
    """
    s = np.asarray(arc_length, dtype=np.float64)
    have = heating.arc_length
    warnings = list(heating.warnings)
    slack = 1e-9 * float(have[-1])
    if s[0] < have[0] - slack or s[-1] > have[-1] + slack:
        warnings.append(
            f"the heating covers {1e3 * have[0]:.1f} to {1e3 * have[-1]:.1f} mm of arc length, the tip"
            f" {1e3 * s[0]:.1f} to {1e3 * s[-1]:.1f} mm: outside, the nearest station is used"
        )
    matrix = _along(have, s)
    last: slice | list[int] = slice(None)
    times = heating.time
    if end_time > times[-1]:
        warnings.append(f"the heating ends at {times[-1]:g} s: its last row is held to {end_time:g} s")
        last = [*range(times.size), times.size - 1]
        times = np.append(times, end_time)
    return replace(
        heating,
        time=times,
        arc_length=frozen(s),
        film=np.einsum("js,tsw->tjw", matrix, heating.film)[last],
        recovery=(heating.recovery @ matrix.T)[last],
        pressure=(heating.pressure @ matrix.T)[last],
        reynolds=(heating.reynolds @ matrix.T)[last],
        turbulent=(heating.turbulent @ matrix.T)[last],
        surroundings=heating.surroundings[last],
        absorbed=(heating.absorbed @ matrix.T)[last],
        warnings=tuple(warnings),
    )


def _along(have: FloatArray, wanted: FloatArray) -> FloatArray:
    """Return the matrix of linear interpolation from ``have`` to ``wanted``, held at the ends."""
    return np.column_stack([np.interp(wanted, have, unit) for unit in np.eye(have.size)])


def _bad_values(rows: dict[str, FloatArray], *, place: str) -> Iterator[Mistake]:
    sizes = {values.size for values in rows.values()}
    if len(sizes) > 1 or 0 in sizes:
        yield Mistake(place, "its columns are empty or of unequal length", "Give a value in each row")
        return
    for key, values in rows.items():
        if not np.isfinite(values).all():
            row = int(np.argmin(np.isfinite(values))) + 1
            yield Mistake(place, f"{key} is not a number in row {row}", "Fill or remove the row")
    if (rows["film"] < 0.0).any():
        row = int(np.argmax(rows["film"] < 0.0)) + 1
        yield Mistake(
            place, f"a negative film coefficient in row {row}", "Give q over (recovery - wall), zero or more"
        )
    if (rows["recovery"] <= 0.0).any():
        yield Mistake(place, "a recovery temperature at or below 0 K", "Check the column's unit")
    if (rows["arc_length"] < 0.0).any():
        yield Mistake(place, "a negative arc length", "Measure it aft from the stagnation point")


def _holes(rows: dict[str, FloatArray], *, place: str) -> Iterator[Mistake]:
    times, time_index = np.unique(rows["time"], return_inverse=True)
    stations, station_index = np.unique(rows["arc_length"], return_inverse=True)
    count = np.zeros((times.size, stations.size), dtype=np.int64)
    np.add.at(count, (time_index, station_index), 1)
    if times.size < 2:
        yield Mistake(place, "it has a single time", "Give at least two times")
    wrong = np.argwhere(count != 1)
    if wrong.size:
        i, j = wrong[0]
        what = "no row" if count[i, j] == 0 else f"{count[i, j]} rows"
        yield Mistake(
            place,
            f"{what} at {times[i]:g} s and {1e3 * stations[j]:g} mm ({len(wrong)} such places)",
            "Give each time with each arc length exactly once",
        )
