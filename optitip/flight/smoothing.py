"""Smooth values and slopes out of a noisy record, without rounding the kinks off."""

from collections.abc import Sequence

import numpy as np

from optitip.arrays import BoolArray, FloatArray

_REACH = 3.0  # the window's half-width in time constants: the weight there is 1 % of the middle's
_FEWEST = 8  # samples in a window, so that a parabola stands on something
_ROUNDS = 3  # of reweighting; outliers have lost their weight after two
_BLOCK = 256  # windows solved together, to bound the memory


def smooth(
    time: FloatArray, *, values: FloatArray, at: FloatArray, constant: float, kinks: Sequence[float] = ()
) -> tuple[FloatArray, FloatArray]:
    """Return value and slope (m,) of ``values`` (n,) at the times ``at`` (m,) [s].

    About each time a parabola is fitted by least squares with weights exp(-(t - at)^2/(2 constant^2)) times
    Tukey's biweight of the residuals, so that single wild samples don't count. At each of ``kinks`` [s]
    inside a window the slope may jump. The window holds eight samples at least, however slow the record.
    With ``constant`` 0 [s] the values are interpolated as they are.

    Valid for any rising times; a bump shorter than about two time constants is flattened.
    Source: Cleveland, J. Am. Stat. Assoc. 74 (1979) 829, robust local regression (from memory).

    >>> t = np.linspace(0.0, 4.0, 81)
    >>> value, slope = smooth(t, values=3.0 * t**2, at=np.array([2.0]), constant=0.3)
    >>> round(float(value[0]), 6), round(float(slope[0]), 6)  # 3 2^2 and 6 2
    (12.0, 12.0)
    """
    if at.size == 0:
        return np.empty(0), np.empty(0)
    if constant <= 0.0:
        value = np.interp(at, time, values)
        return value, np.interp(at, time, np.gradient(values, time))
    parts = [
        _fit(time, values, at[i : i + _BLOCK], constant, np.asarray(kinks, dtype=np.float64))
        for i in range(0, at.size, _BLOCK)
    ]
    return np.concatenate([p[0] for p in parts]), np.concatenate([p[1] for p in parts])


def kink_near(
    time: FloatArray,
    *,
    values: FloatArray,
    around: float,
    half: float,
    reach: float,
    from_rest: bool = False,
) -> float:
    """Return the time [s] within ``reach`` [s] of ``around`` at which the values bend most sharply.

    Two parabolas that meet there are fitted to the samples within ``half`` [s], the first one zero if
    ``from_rest``; the bend is put where the sum of the absolute residuals is least, to a 400th of ``reach``.
    With fewer than eight samples there, ``around`` itself.

    >>> t = np.linspace(0.0, 2.0, 41)
    >>> round(kink_near(t, values=np.abs(t - 1.2), around=1.0, half=1.0, reach=0.5), 2)
    1.2
    """
    inside = np.abs(time - around) <= half
    t, v = time[inside] - around, values[inside]
    if t.size < 8:
        return around
    bend, spacing = 0.0, reach / 20.0
    for width in (spacing, spacing / 20.0):
        candidates = bend + width * np.arange(-20, 21)
        residuals = [_bend_residual(t, v, float(candidate), from_rest) for candidate in candidates]
        bend = float(candidates[int(np.argmin(residuals))])
    return around + bend


def running_median(values: FloatArray) -> FloatArray:
    """Return the median of each value (n,) with two neighbours on either side; the ends repeat.

    >>> running_median(np.array([0.0, 1.0, 99.0, 3.0, 4.0])).tolist()
    [0.0, 1.0, 3.0, 4.0, 4.0]
    """
    windows = np.lib.stride_tricks.sliding_window_view(np.pad(values, 2, mode="edge"), 5)
    return np.asarray(np.median(windows, axis=1), dtype=np.float64)


def wild(values: FloatArray, *, spread: float = 2.0, let_pass: float = 0.02) -> BoolArray:
    """Return which values (n,) stand off their four neighbours by more than ``spread`` times their spread.

    ``let_pass``, a share of the whole span, is let pass besides. Source: common practice, no source.

    >>> wild(np.array([0.0, 1.0, 99.0, 3.0, 4.0, 5.0])).tolist()
    [False, False, True, False, False, False]
    """
    calm = running_median(values)
    windows = np.lib.stride_tricks.sliding_window_view(np.pad(values, 2, mode="edge"), 5)
    others = windows[:, [0, 1, 3, 4]]
    limit = spread * np.ptp(others, axis=1) + let_pass * np.ptp(calm)
    return np.asarray(np.abs(values - np.median(others, axis=1)) > limit, dtype=np.bool_)


def _bend_residual(t: FloatArray, v: FloatArray, bend: float, from_rest: bool) -> float:
    s = t - bend
    after = np.maximum(s, 0.0)
    columns = [after, after**2] if from_rest else [after, after**2, np.ones_like(s), s, s**2]
    basis = np.stack(columns, axis=1)
    coefficients = np.linalg.lstsq(basis, v, rcond=None)[0]
    return float(np.abs(v - basis @ coefficients).sum())


def _fit(
    time: FloatArray, values: FloatArray, at: FloatArray, constant: float, kinks: FloatArray
) -> tuple[FloatArray, FloatArray]:
    half = _half_widths(time, at, constant)
    start = np.searchsorted(time, at - half)
    count = np.searchsorted(time, at + half, side="right") - start
    place = np.arange(int(count.max()))
    index = np.minimum(start[:, None] + place, time.size - 1)
    s = (time[index] - at[:, None]) / half[:, None]
    inside = np.asarray(place < count[:, None], dtype=np.float64)
    weight = inside * np.exp(-0.5 * (_REACH * s) ** 2)
    bends = (kinks - at[:, None]) / half[:, None]
    bends = np.where(np.abs(bends) < 1.0, bends, np.inf)
    hinges = np.maximum(s[:, :, None] - bends[:, None, :], 0.0)
    basis = np.concatenate([np.stack([np.ones_like(s), s, s**2], axis=2), hinges], axis=2)
    v = values[index]
    c = _solve(basis, weight, v)
    for _ in range(_ROUNDS):
        residual = np.abs(v - np.einsum("mwk,mk->mw", basis, c))
        c = _solve(basis, weight * _biweight(residual, inside), v)
    here = np.maximum(-bends, 0.0)
    value = c[:, 0] + (c[:, 3:] * here).sum(axis=1)
    slope = (c[:, 1] + (c[:, 3:] * (bends <= 0.0)).sum(axis=1)) / half
    return value, slope


def _half_widths(time: FloatArray, at: FloatArray, constant: float) -> FloatArray:
    """Return the half-widths of the windows (m,) [s]."""
    last = time.size - 1
    first = np.clip(np.searchsorted(time, at) - _FEWEST // 2, 0, max(last + 1 - _FEWEST, 0))
    farthest = np.maximum(at - time[first], time[np.minimum(first + _FEWEST - 1, last)] - at)
    return np.asarray(np.maximum(_REACH * constant, farthest * (1.0 + 1e-9)), dtype=np.float64)


def _solve(basis: FloatArray, weight: FloatArray, values: FloatArray) -> FloatArray:
    """Return the weighted least-squares coefficients; a touch of ridge serves hinges no sample bears on."""
    weighted = basis.transpose(0, 2, 1) * weight[:, None, :]
    normal = weighted @ basis
    size = normal.shape[1]
    ridge = 1e-9 * np.trace(normal, axis1=1, axis2=2)
    normal = normal + ridge[:, None, None] * np.eye(size)
    return np.asarray(np.linalg.solve(normal, weighted @ values[:, :, None])[:, :, 0], dtype=np.float64)


def _biweight(residual: FloatArray, inside: FloatArray) -> FloatArray:
    """Return Tukey's weights; the scale is six median residuals of each window."""
    ordered = np.sort(np.where(inside > 0.0, residual, np.inf), axis=1)
    middle = (inside.sum(axis=1).astype(np.int64) - 1) // 2
    scale = 6.0 * np.maximum(ordered[np.arange(middle.size), middle], 1e-9)
    return np.asarray(np.clip(1.0 - (residual / scale[:, None]) ** 2, 0.0, None) ** 2, dtype=np.float64)
