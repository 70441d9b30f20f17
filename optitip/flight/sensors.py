"""What a sensor gave, made fit to reckon with: spikes out, lag taken back, level and sign settled."""

from dataclasses import dataclass, replace
from enum import IntEnum

import numpy as np

from optitip.arrays import BoolArray, FloatArray, IntArray, frozen, frozen_index
from optitip.errors import UserMistakes
from optitip.flight.atmosphere import STANDARD_GRAVITY
from optitip.flight.smoothing import smooth, wild
from optitip.inputs.recording import Channel, Quantity

LONGEST_FILL = 10  # samples in one run of a value that stands for none
_FLAT_TOP = 4  # equal samples at the greatest reading that are no chance
_BINS_A_CONSTANT = 6  # of the smoothing's time constant: what finer bins would show, it smooths away


class LeftOut(IntEnum):
    """Why a sample was not used."""

    USED = 0
    MISSING = 1
    SPIKE = 2
    SATURATED = 3
    TRANSONIC = 4


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Sensor:
    """One channel of the flight: altitude above sea level, speed or the acceleration felt, in SI."""

    quantity: Quantity
    time: FloatArray
    """(n,) [s] strictly rising"""
    values: FloatArray
    """(n,) [m above sea level], [m/s], [1] or [m/s2] felt along the axis, positive pushing the tip fore"""
    left_out: IntArray
    """(n,) the ``LeftOut`` of each sample"""
    file: str
    label: str

    def __post_init__(self) -> None:
        """Copy and freeze the arrays."""
        object.__setattr__(self, "time", frozen(self.time))
        object.__setattr__(self, "values", frozen(self.values))
        object.__setattr__(self, "left_out", frozen_index(self.left_out))

    @property
    def used(self) -> BoolArray:
        """Return which samples (n,) are used."""
        return np.asarray(self.left_out == LeftOut.USED, dtype=np.bool_)

    def counts_left_out(self) -> dict[str, int]:
        """Return how many samples were left out, by the reason."""
        reasons, counts = np.unique(self.left_out, return_counts=True)
        found = {LeftOut(int(r)): int(n) for r, n in zip(reasons, counts, strict=True)}
        return {reason.name.lower(): count for reason, count in found.items() if reason}

    def without(self, which: BoolArray, why: LeftOut) -> "Sensor":
        """Return the sensor with more samples (n,) left out."""
        return replace(self, left_out=np.where(self.used & which, why, self.left_out))


def sensor_of(channel: Channel) -> Sensor:
    """Return the channel as it is, its missing values (not finite) left out."""
    known = np.isfinite(channel.values)
    return Sensor(
        quantity=channel.quantity,
        time=channel.time,
        values=np.where(known, channel.values, 0.0),
        left_out=np.where(known, LeftOut.USED, LeftOut.MISSING),
        file=channel.file,
        label=channel.label,
    )


def without_spikes(sensor: Sensor, *, spikes: float) -> Sensor:
    """Return the sensor without the samples that stand off their neighbours, and without fill values.

    A spike stands off the median of its four neighbours by more than ``spikes`` times their spread and a
    hundredth of the whole span (an eighth of it for an acceleration, which may jump); with 0 none does. A
    fill value is one value repeated, ten times in a row at most, that jumps in and out again by a tenth of
    the whole span.
    Source: common practice, no source.
    """
    if spikes == 0.0 or sensor.used.sum() < 5:
        return sensor
    sensor = sensor.without(_fills(sensor), LeftOut.SPIKE)
    share = 0.125 if sensor.quantity is Quantity.ACCELERATION else 0.01
    spiked = np.zeros(sensor.time.size, dtype=np.bool_)
    # every second and third sample too, so that two wild ones side by side don't vouch for each other
    for first, stride in ((0, 1), (0, 2), (1, 2), (0, 3), (1, 3), (2, 3)):
        used = np.flatnonzero(sensor.used)[first::stride]
        if used.size >= 5:
            spiked[used] |= wild(sensor.values[used], spread=spikes, let_pass=spikes * share)
    return sensor.without(spiked, LeftOut.SPIKE)


def without_lag(sensor: Sensor, *, lag: float) -> Sensor:
    """Return the sensor as it would read without its first-order lag [s]: x + lag dx/dt.

    The slope is that of a local parabola of half the lag's time constant (at least what holds eight
    samples), so that the noise grows by about half. Source: the first-order lag's own equation.

    >>> t = np.linspace(0.0, 10.0, 201)
    >>> late = Channel(quantity=Quantity.ALTITUDE, time=t, values=100.0 * (t - 0.4), file="a", label="b")
    >>> round(float(without_lag(sensor_of(late), lag=0.4).values[100]), 6)
    500.0
    """
    used = sensor.used
    if lag == 0.0 or used.sum() < 8:
        return sensor
    _, slope = smooth(sensor.time[used], values=sensor.values[used], at=sensor.time[used], constant=0.5 * lag)
    values = np.array(sensor.values)
    values[used] += lag * slope
    return replace(sensor, values=values)


def without_flat_top(sensor: Sensor) -> Sensor:
    """Return an acceleration without the samples at which its sensor stood at its limit.

    Four equal samples or more in a row at the greatest or the least reading, beyond 3 g, are no chance.
    """
    values, used = sensor.values, sensor.used
    clipped = np.zeros(values.size, dtype=np.bool_)
    for limit in (values[used].max(), values[used].min()):
        at_limit = used & (np.abs(values - limit) <= 1e-3 * abs(limit))
        if abs(limit) > 3.0 * STANDARD_GRAVITY:
            clipped |= _long_runs(at_limit, _FLAT_TOP)
    return sensor.without(clipped, LeftOut.SATURATED)


def felt(sensor: Sensor, *, lift_off: float, apogee: float, at_rest: float = STANDARD_GRAVITY) -> Sensor:
    """Return an acceleration as felt along the axis, its sign and level taken from the rest on the pad.

    Before ``lift_off`` [s] a sensor reads +1 g, -1 g (mounted upside down) or 0 (gravity taken out); its
    reading there is set to ``at_rest`` [m/s2] felt, which takes the sensor's own offset out with it. Without
    a rest the boost tells the sign, and the second before ``apogee`` [s], where nothing but gravity acts, the
    level.
    Another level at rest, or a boost against it, is a mistake under the file's name.
    """
    time, values, used = sensor.time, sensor.values, sensor.used
    resting = used & (time < lift_off - 0.2) & (time > lift_off - 10.0)
    boosting = used & (time > lift_off) & (time < lift_off + 0.5)
    push = float(np.median(values[boosting])) if boosting.any() else 0.0
    if resting.sum() >= 5:
        rest = float(np.median(values[resting]))
        sign = _sign_at_rest(sensor, rest=rest, push=push)
        return replace(sensor, values=sign * (values - rest) + at_rest)
    sign = 1.0 if push >= 0.0 else -1.0
    free = used & (time > apogee - 1.5) & (time < apogee - 0.3)
    level = sign * float(np.median(values[free])) if free.any() else 0.0
    gravity_out = abs(level + STANDARD_GRAVITY) < abs(level)
    return replace(sensor, values=sign * values + (STANDARD_GRAVITY if gravity_out else 0.0))


def binned(sensor: Sensor, *, constant: float) -> tuple[FloatArray, FloatArray]:
    """Return time and value (m,) of the used samples, averaged in bins a sixth of ``constant`` [s] wide.

    A sensor no faster than two samples a bin stays as it is.
    """
    time, values = sensor.time[sensor.used], sensor.values[sensor.used]
    width = constant / _BINS_A_CONSTANT
    if time.size < 3 or float(np.median(np.diff(time))) > 0.5 * width:
        return time, values
    place = np.floor((time - time[0]) / width).astype(np.int64)
    starts = np.flatnonzero(np.diff(place, prepend=-1))
    count = np.diff(starts, append=time.size)
    return np.add.reduceat(time, starts) / count, np.add.reduceat(values, starts) / count


def cropped(sensor: Sensor, *, start: float, stop: float) -> Sensor:
    """Return the part of the sensor from ``start`` to ``stop`` [s]."""
    part = slice(*np.searchsorted(sensor.time, [start, stop]).tolist())
    return replace(sensor, time=sensor.time[part], values=sensor.values[part], left_out=sensor.left_out[part])


def noise_of(values: FloatArray) -> float:
    """Return the standard deviation of the noise in evenly taken values (n,), from their third differences.

    A cubic leaves none; sqrt(20) is the third difference's share of white noise. Source: common practice.

    >>> noise_of(np.arange(9.0) ** 2)
    0.0
    """
    if values.size < 5:
        return 0.0
    return float(np.median(np.abs(np.diff(values, 3))) / (0.6745 * np.sqrt(20.0)))


def _sign_at_rest(sensor: Sensor, *, rest: float, push: float) -> float:
    level = rest / STANDARD_GRAVITY
    place = f"{sensor.file}, {sensor.label}"
    if abs(level) > 1.5 or 0.4 < abs(level) < 0.6:
        problem = f"at rest before lift-off it reads {level:.2f} g, neither 1, 0 nor -1 g"
        raise UserMistakes.one(place, problem, "Check its unit and that it is the axis along the vehicle")
    by_push = 1.0 if push > rest else -1.0
    if abs(level) < 0.5:
        return by_push
    sign = 1.0 if level > 0.0 else -1.0
    if sign != by_push:
        problem = f"it reads {level:.2f} g at rest and {push / STANDARD_GRAVITY:.1f} g in the boost"
        raise UserMistakes.one(place, problem, "Check that it is the axis along the vehicle")
    return sign


def _fills(sensor: Sensor) -> BoolArray:
    """Return which samples (n,) stand in a short run of one value that jumps in and out again."""
    used = np.flatnonzero(sensor.used)
    values = sensor.values[used]
    found = np.zeros(sensor.time.size, dtype=np.bool_)
    calm = np.percentile(values, [1.0, 99.0])
    jump = 0.1 * float(max(calm[1] - calm[0], 1e-9))
    starts = np.flatnonzero(np.diff(values, prepend=np.nan) != 0.0)
    ends = np.append(starts[1:], values.size)
    inner = (starts > 0) & (ends < values.size) & (ends - starts <= LONGEST_FILL)
    into = values[starts] - values[np.maximum(starts - 1, 0)]
    out = values[np.minimum(ends, values.size - 1)] - values[starts]
    away = inner & (np.abs(into) > jump) & (np.abs(out) > jump) & (into * out < 0.0)
    away &= ends - starts > 1  # a single one is told from a flight by its neighbours, as a spike
    for start, end in zip(starts[away], ends[away], strict=True):
        found[used[start:end]] = True
    return found


def _long_runs(which: BoolArray, least: int) -> BoolArray:
    edges = np.diff(np.concatenate([[0], which.astype(np.int64), [0]]))
    found = np.zeros(which.size, dtype=np.bool_)
    for start, end in zip(np.flatnonzero(edges == 1), np.flatnonzero(edges == -1), strict=True):
        found[start:end] = end - start >= least
    return found
