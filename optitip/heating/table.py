"""The heating: film coefficient and recovery temperature over time, arc length and wall temperature."""

from collections.abc import Iterator
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import ArrayLike

from optitip.arrays import FloatArray, frozen
from optitip.errors import Mistake, UserMistakes
from optitip.heating.gridding import gridded

STANDARD_PRESSURE = 101325.0
"""[Pa], US Standard Atmosphere 1976."""
_SAME_SURROUNDINGS = 0.01  # [K] within the rows of one time


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
    wall: ArrayLike | None = None,
    pressure: ArrayLike | None = None,
    reynolds: ArrayLike | None = None,
    turbulent: ArrayLike | None = None,
    absorbed: ArrayLike | None = None,
    surroundings: ArrayLike = 288.15,
    name: str = "heating table",
    place: str = "flow.heating_table",
) -> Heating:
    """Return the heating that a table of rows (time, arc length, film, recovery) gives, used as it is.

    The rows come in any order. Times with stations of their own, and places with wall temperatures of their
    own, are put on the union of all by straight lines, with a warning. With one ``wall`` temperature a place,
    or none, the film doesn't depend on the wall.

    ``time`` [s], ``arc_length`` [m], ``film`` [W/(m2 K)], ``recovery``, ``wall`` [K], ``pressure`` [Pa],
    ``reynolds``, ``turbulent`` (a share) and ``absorbed`` [W/m2] are flat, (n,). Without
    ``pressure`` it is 101,325 Pa throughout, with a warning. ``surroundings`` [K], one or flat, is what the
    surface radiates to; ``place`` is the study's key or the file a mistake is reported at.

    Valid for any rows that give each place once; anything else raises UserMistakes.

    Source: the table's own author.

    >>> heating = from_table(time=[0, 0, 1, 1], arc_length=[0.0, 0.1, 0.0, 0.1], film=[0, 0, 90, 80],
    ...     recovery=[288, 288, 400, 390])
    >>> heating.film[1, :, 0].tolist(), heating.recovery[1].tolist()
    ([90.0, 80.0], [400.0, 390.0])
    """
    given = {"wall": wall, "pressure": pressure, "reynolds": reynolds, "turbulent": turbulent}
    given["absorbed"] = absorbed
    columns = {"time": time, "arc_length": arc_length, "film": film, "recovery": recovery}
    columns |= {key: values for key, values in given.items() if values is not None}
    rows = {key: np.asarray(values, dtype=np.float64) for key, values in columns.items()}
    around = np.asarray(surroundings, dtype=np.float64)
    rows["surroundings"] = np.full(rows["time"].size, around) if around.ndim == 0 else around
    mistakes = list(_bad_values(rows, place=place))
    if mistakes:
        raise UserMistakes(mistakes)
    grid = gridded(rows, place=place)
    shape = (grid.time.size, grid.station.size)
    no_pressure = () if pressure is not None else ("the heating table has no pressure: 101,325 Pa is taken",)
    return Heating(
        time=grid.time,
        arc_length=grid.station,
        wall=grid.wall,
        film=grid.film,
        recovery=grid.others["recovery"],
        pressure=grid.others.get("pressure", np.full(shape, STANDARD_PRESSURE)),
        reynolds=grid.others.get("reynolds", np.zeros(shape)),
        turbulent=grid.others.get("turbulent", np.zeros(shape)),
        surroundings=grid.others["surroundings"][:, 0],
        absorbed=grid.others.get("absorbed", np.zeros(shape)),
        name=name,
        warnings=(*no_pressure, *(f"in {place}, {note}" for note in grid.notes)),
    )


def covering(
    heating: Heating, *, arc_length: ArrayLike, end_time: float, start_time: float | None = None
) -> Heating:
    """Return the heating at the stations ``arc_length``, lasting from ``start_time`` until ``end_time``.

    Linear along the surface; a station outside the table takes its nearest one, a time before its start its
    first row and one after its end its last, each with a warning.

    ``arc_length`` (n_s,) [m] strictly increasing, ``end_time`` and ``start_time`` [s] (None: the table's).

    Valid for any stations.

    Source: common practice, no source.

    >>> given = from_table(time=[0, 0, 1, 1], arc_length=[0.0, 0.1, 0.0, 0.1], film=[0, 0, 90, 80],
    ...     recovery=[288, 288, 400, 390], pressure=[1e5] * 4)
    >>> wanted = covering(given, arc_length=[0.05, 0.2], end_time=3.0)
    >>> wanted.film[-1, :, 0].tolist(), wanted.time.tolist(), len(wanted.warnings)
    ([85.0, 80.0], [0.0, 1.0, 3.0], 2)
    """
    s = np.asarray(arc_length, dtype=np.float64)
    have, times = heating.arc_length, heating.time
    warnings = list(heating.warnings)
    slack = 1e-6 * float(have[-1])
    if s[0] < have[0] - slack or s[-1] > have[-1] + slack:
        warnings.append(
            f"the heating covers {1e3 * have[0]:.1f} to {1e3 * have[-1]:.1f} mm of arc length, the tip"
            f" {1e3 * s[0]:.1f} to {1e3 * s[-1]:.1f} mm: outside, the nearest station is used"
        )
    rows, wanted = np.arange(times.size), times
    if start_time is not None and start_time < times[0]:
        warnings.append(f"the heating begins at {times[0]:g} s: its first row is held from {start_time:g} s")
        rows, wanted = np.append(0, rows), np.append(start_time, wanted)
    if end_time > times[-1]:
        warnings.append(f"the heating ends at {times[-1]:g} s: its last row is held to {end_time:g} s")
        rows, wanted = np.append(rows, rows[-1]), np.append(wanted, end_time)
    return replace(
        heating,
        time=wanted,
        arc_length=frozen(s),
        film=_along(have, heating.film, wanted=s)[rows],
        recovery=_along(have, heating.recovery, wanted=s)[rows],
        pressure=_along(have, heating.pressure, wanted=s)[rows],
        reynolds=_along(have, heating.reynolds, wanted=s)[rows],
        turbulent=_along(have, heating.turbulent, wanted=s)[rows],
        surroundings=heating.surroundings[rows],
        absorbed=_along(have, heating.absorbed, wanted=s)[rows],
        warnings=tuple(warnings),
    )


def _along(have: FloatArray, values: FloatArray, *, wanted: FloatArray) -> FloatArray:
    """Return values (n_t, n_s, ...) at other stations, straight between them and held at the ends."""
    right = np.minimum(np.searchsorted(have, wanted), have.size - 1)
    left = np.maximum(right - 1, 0)
    apart = np.where(right > left, have[right] - have[left], 1.0)
    share = np.clip((wanted - have[left]) / apart, 0.0, 1.0)
    share = share.reshape(-1, *[1] * (values.ndim - 2))
    result: FloatArray = (1.0 - share) * values[:, left] + share * values[:, right]
    return result


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
    if "turbulent" in rows and not ((rows["turbulent"] >= 0.0) & (rows["turbulent"] <= 1.0)).all():
        yield Mistake(place, "a turbulent share outside 0 to 1", "Give a share, or the column in %")
    order = np.lexsort((rows["surroundings"], rows["time"]))
    times, around = rows["time"][order], rows["surroundings"][order]
    unlike = (np.diff(times) == 0.0) & (np.abs(np.diff(around)) > _SAME_SURROUNDINGS)
    if unlike.any():
        problem = f"unlike surroundings at {times[:-1][unlike][0]:g} s"
        yield Mistake(place, problem, "Give all rows of one time the same temperature of the surroundings")
