"""A flight's fine histories put on the few times that matter, with the pad before and the soak after."""

import heapq
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from optitip.arrays import FloatArray, IntArray
from optitip.errors import Mistake, OutOfRange, UserMistakes
from optitip.flight.atmosphere import STANDARD_GRAVITY, AirState, Atmosphere
from optitip.flight.trajectory import Flight, Phase
from optitip.inputs.study_tables import Attitude

HIGHEST_MACH = 5.0
MOST_POINTS = 150
TOUCHDOWN = 0.2  # [s] in which a speed at lift-off or landing comes from rest or goes to it

_CP = 1004.7  # [J/(kg K)] only weighs one time against another in choosing the grid


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Path:
    """Fine histories, each (n,), of a part of a flight."""

    time: FloatArray
    altitude: FloatArray
    speed: FloatArray
    axial_acceleration: FloatArray


def join(paths: Sequence[Path]) -> Path:
    """Return the paths end to end; a first time that the path before ends with is left out."""
    keep = [
        slice(0 if i == 0 or path.time[0] > paths[i - 1].time[-1] else 1, None)
        for i, path in enumerate(paths)
    ]
    columns = {
        name: np.concatenate([getattr(path, name)[part] for path, part in zip(paths, keep, strict=True)])
        for name in ("time", "altitude", "speed", "axial_acceleration")
    }
    return Path(**columns)


def assemble(
    path: Path,
    *,
    atmosphere: Atmosphere,
    attitude: Attitude,
    rail_angle: float,
    events: Mapping[str, float],
    pad: float,
    soak: float,
    warnings: Iterable[str],
) -> Flight:
    """Return the flight along ``path``, which runs from lift-off at time 0 to the landing.

    ``events`` [s] hold burnout, apogee, main and landing, each a time of the path. ``pad`` [s] of waiting
    go before and ``soak`` [s] after. The path is thinned to at most 150 times. At the landing the speed
    falls to zero within 0.2 s. ``rail_angle`` [rad] of the axis on the pad.

    Valid to Mach 5; above, ``OutOfRange``.
    """
    air = atmosphere.at(path.altitude)
    mach = path.speed / air.sound_speed
    if mach.max() > HIGHEST_MACH:
        raise OutOfRange(
            "flight",
            f"Mach {mach.max():.2f} at {path.time[int(mach.argmax())]:.1f} s",
            f"Up to Mach {HIGHEST_MACH:.0f} the air is still air; check the speed's unit",
        )
    kinks = sorted({0.0, *events.values()})
    kept = thin(
        path.time,
        channels=_channels(path, air),
        keep=np.searchsorted(path.time, np.array(kinks) - 1e-9),
        limit=MOST_POINTS - 4,
    )
    before = -_waits(pad)[::-1][: 2 if path.speed[0] > 0.0 else 1]
    after = events["landing"] + _waits(soak)
    whole = _with_ground(path, kept, before=before, after=after, felt=STANDARD_GRAVITY * np.sin(rail_angle))
    air = atmosphere.at(whole.altitude)
    return Flight(
        time=whole.time,
        altitude=whole.altitude,
        speed=whole.speed,
        temperature=air.temperature,
        pressure=air.pressure,
        density=air.density,
        axial_acceleration=whole.axial_acceleration,
        phase=_phases(whole.time, events),
        events={**events, "end": float(whole.time[-1])},
        kinks=tuple(sorted({*kinks, *before[1:].tolist(), *after[:1].tolist()})),
        attitude=attitude,
        warnings=tuple(warnings),
    )


def check_waits(pad: float, soak: float) -> list[Mistake]:
    """Return the mistakes in the seconds waited before lift-off and after landing."""
    return [
        Mistake(f"flight.{name}", f"a wait of {wait:g} s", "Give zero or more, up to a day")
        for name, wait in (("pad.wait", pad), ("soak", soak))
        if not 0.0 <= wait <= 86_400.0
    ]


def refuse(mistakes: Sequence[Mistake]) -> None:
    """Raise the mistakes together, if there are any."""
    if mistakes:
        raise UserMistakes(mistakes)


def thin(time: FloatArray, *, channels: FloatArray, keep: IntArray, limit: int) -> IntArray:
    """Return the indices of the times kept, so that straight lines between them follow the channels.

    ``channels`` (n_c, n) are scaled so that an error of 1 is let pass; ``keep`` (n_k,) are kept in any
    case. Where the worst error stands, the next time is put, until all pass or ``limit`` times are kept.

    >>> ramp = np.array([[0.0, 0.0, 0.0, 5.0, 10.0]])
    >>> thin(np.arange(5.0), channels=ramp, keep=np.array([0]), limit=9).tolist()
    [0, 2, 4]
    """
    kept = sorted({0, time.size - 1, *(int(i) for i in keep)})
    waiting = [_worst(time, channels, a, b) for a, b in pairwise(kept)]
    heapq.heapify(waiting)
    while waiting and len(kept) < limit and -waiting[0][0] > 1.0:
        _, at, a, b = heapq.heappop(waiting)
        kept.append(at)
        heapq.heappush(waiting, _worst(time, channels, a, at))
        heapq.heappush(waiting, _worst(time, channels, at, b))
    return np.array(sorted(kept), dtype=np.int64)


def _worst(time: FloatArray, channels: FloatArray, a: int, b: int) -> tuple[float, int, int, int]:
    """Return minus the worst error between two kept times, where it stands, and the two."""
    if b - a < 2:
        return 0.0, a, a, b
    share = (time[a + 1 : b] - time[a]) / (time[b] - time[a])
    line = channels[:, a, None] + share * (channels[:, b] - channels[:, a])[:, None]
    error = np.abs(channels[:, a + 1 : b] - line).max(axis=0)
    at = int(error.argmax())
    return -float(error[at]), a + 1 + at, a, b


def _waits(wait: float) -> FloatArray:
    """Return two times [s] from the moving end of a wait: when all is at rest, and its far end."""
    return np.array([min(TOUCHDOWN, 0.5 * wait), wait]) if wait > 0.0 else np.empty(0)


def _channels(path: Path, air: AirState) -> FloatArray:
    """Return what has to be followed, over its tolerance.

    0.5 K of total temperature, 0.3 % of the peak film coefficient (it grows as (rho V)^0.8), 0.3 % of the
    height, 2 % of the peak acceleration.
    """
    film = (air.density * path.speed) ** 0.8
    height = path.altitude - path.altitude.min()
    felt = path.axial_acceleration
    return np.stack(
        [
            (air.temperature + path.speed**2 / (2.0 * _CP)) / 0.5,
            film / (0.003 * film.max()),
            height / max(0.003 * height.max(), 1.0),
            felt / max(0.02 * np.abs(felt).max(), 1.0),
        ]
    )


def _with_ground(path: Path, kept: IntArray, *, before: FloatArray, after: FloatArray, felt: float) -> Path:
    first, last = np.ones_like(before), np.ones_like(after)
    return Path(
        time=np.concatenate([before, path.time[kept], after]),
        altitude=np.concatenate([path.altitude[0] * first, path.altitude[kept], path.altitude[-1] * last]),
        speed=np.concatenate([0.0 * first, path.speed[kept], 0.0 * last]),
        axial_acceleration=np.concatenate([felt * first, path.axial_acceleration[kept], 0.0 * last]),
    )


def _phases(time: FloatArray, events: Mapping[str, float]) -> IntArray:
    starts = np.array([0.0, events["burnout"], events["apogee"], events["landing"]]) - 1e-9
    phases = np.array([Phase.PAD, Phase.BOOST, Phase.COAST, Phase.DESCENT, Phase.SOAK], dtype=np.int64)
    return phases[np.searchsorted(starts, time, side="right")]
