"""The heat through the borders integrated afresh from the temperatures: the balance's second opinion."""

from collections.abc import Sequence

import numpy as np

from optitip.arrays import FloatArray, IntArray
from optitip.solvers.body import Sink, Surface
from optitip.solvers.surface import heat_over_time

_POINTS = 0.5 + np.array([-0.5, 0.0, 0.5]) * np.sqrt(0.6)
_WEIGHTS = np.array([5.0, 8.0, 5.0]) / 18.0
# the cubic at those points: what its values and slopes count, before the step and after
_BEFORE, _AFTER = (1.0 + 2.0 * _POINTS) * (1.0 - _POINTS) ** 2, (3.0 - 2.0 * _POINTS) * _POINTS**2
_LEAVING, _COMING = _POINTS * (1.0 - _POINTS) ** 2, (_POINTS - 1.0) * _POINTS**2
_CUBIC = np.stack([_BEFORE, _AFTER, _LEAVING, _COMING], axis=1)


_NOTHING = 1e-6


def balance_scale(gross: float, *, capacity: float) -> float:
    """Return what a balance is told over [J]: all heat that passed, or, where next to none did, one kelvin.

    gross: the integral of |q| over the borders [J]. capacity: what warms the body by 1 K [J]. Heat that would
    warm it by less than a microkelvin is round-off, and so is its balance.

    >>> balance_scale(50.0, capacity=200.0), balance_scale(1e-9, capacity=200.0)
    (50.0, 200.0)
    """
    return gross if gross > _NOTHING * capacity else capacity


def border_heat(
    surface: Surface,
    *,
    sinks: Sequence[Sink],
    time: FloatArray,
    temperature: FloatArray,
    slope: FloatArray,
    slope_after: FloatArray,
) -> tuple[float, float]:
    """Return the net heat into the body and the integral of |q| over all its borders [J].

    Three Gauss points a step on the cubic through temperatures ``(n, n_nodes)`` [K] and slopes [K/s] before
    and after each instant, with the heating's own table: no heat that the stages summed is used.
    """
    length = np.diff(time)
    at = (time[:-1] + _POINTS[:, None] * length).ravel()
    weight = (_WEIGHTS[:, None] * length).ravel()

    def during(nodes: IntArray) -> FloatArray:
        value, coming, leaving = (one.take(nodes, axis=1) for one in (temperature, slope, slope_after))
        ends = np.stack([value[:-1], value[1:], leaving[:-1], coming[1:]])
        ends[2:] *= length[:, None]
        return np.asarray(_CUBIC @ ends.reshape(4, length.size * nodes.size)).reshape(at.size, nodes.size)

    heats = [sink.conductance * (sink.temperature - during(sink.nodes)) for sink in sinks]
    if surface.nodes.size:
        heat = heat_over_time(surface, time=at, wall=during(surface.nodes))
        heats += [heat.convected, heat.radiated]
    net = sum(float((weight @ each).sum()) for each in heats)
    gross = sum(float((weight @ np.abs(each, out=each)).sum()) for each in heats)
    return net, gross
