"""The heat through the borders integrated afresh from the temperatures: the balance's second opinion."""

from collections.abc import Sequence

import numpy as np

from optitip.arrays import FloatArray, IntArray
from optitip.solvers.body import Sink, Surface
from optitip.solvers.dense import between_steps
from optitip.solvers.surface import heat_over_time

_POINTS = 0.5 + np.array([-0.5, 0.0, 0.5]) * np.sqrt(0.6)
_WEIGHTS = np.array([5.0, 8.0, 5.0]) / 18.0


def border_heat(
    surface: Surface,
    *,
    sinks: Sequence[Sink],
    time: FloatArray,
    temperature: FloatArray,
    slope: FloatArray,
) -> tuple[float, float]:
    """Return the net heat into the body and the integral of |q| over all its borders [J].

    Three Gauss points a step on the cubic through temperatures ``(n, n_nodes)`` [K] and slopes [K/s], with
    the heating's own table: no heat that the stages summed is used.
    """
    length = np.diff(time)
    at = (time[:-1, None] + length[:, None] * _POINTS).ravel()
    weight = (length[:, None] * _WEIGHTS).ravel()

    def during(nodes: IntArray) -> FloatArray:
        return between_steps(at, time=time, values=temperature[:, nodes], slopes=slope[:, nodes])

    heats = [sink.conductance * (sink.temperature - during(sink.nodes)) for sink in sinks]
    if surface.nodes.size:
        heat = heat_over_time(surface, time=at, wall=during(surface.nodes))
        heats += [heat.convected, heat.radiated]
    net = sum(float(weight @ each.sum(axis=1)) for each in heats)
    gross = sum(float(weight @ np.abs(each).sum(axis=1)) for each in heats)
    return net, gross
