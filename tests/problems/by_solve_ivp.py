"""A second opinion on the heat march: scikit-fem's matrices integrated by scipy, every law written out again.

Properties are constant in each material, or a conductivity linear in temperature; no table, no Kirchhoff
look-up, no band and no step control of the package's own is used.
"""

from dataclasses import dataclass

import numpy as np
from scipy.integrate import solve_ivp

from optitip.solvers.reference import reference_conduction

SIGMA = 5.670374419e-8


@dataclass(frozen=True, kw_only=True)
class Plain:
    """The properties of one material: k = conductivity (1 + rise (T - 300 K)) [W/(m K)], c [J/(m3 K)]."""

    conductivity: float
    heat_capacity: float
    rise: float = 0.0


@dataclass(frozen=True, kw_only=True)
class Outside:
    """What the surface meets: film and recovery temperature by functions of time."""

    nodes: np.ndarray
    area: np.ndarray
    film: object
    recovery: object
    emissivity: float = 0.0
    surroundings: float = 300.0


def temperatures(body, plain, *, outside, start, at, kinks=(), sinks=(), most=np.inf):
    """Return the temperatures ``(n_at, n_nodes)`` [K] and the heat capacity of each node [J/K]."""
    material = np.zeros(len(body.points), dtype=int)
    material[body.cells] = body.cell_material[:, None]
    k, c, rise = (
        np.array([getattr(one, name) for one in plain]) for name in ("conductivity", "heat_capacity", "rise")
    )
    stiffness, volume = reference_conduction(body, conductivity=k[body.cell_material])
    capacity = volume * c[material]
    own_rise = rise[material]

    def rate(time, temperature):
        above = temperature - 300.0
        heat = -(stiffness @ (above + 0.5 * own_rise * above**2))
        for joint in body.joints:
            first, second = temperature[joint.first], temperature[joint.second]
            gap = np.maximum(joint.gap_rate * (first - joint.gap_reference), 0.0) / joint.gap_conductivity
            passed = joint.area * joint.conductance / (1.0 + joint.conductance * gap) * (first - second)
            np.add.at(heat, joint.first, -passed)
            np.add.at(heat, joint.second, passed)
        wall = temperature[outside.nodes]
        flux = outside.film(time) * (outside.recovery(time) - wall)
        flux = flux + outside.emissivity * SIGMA * (outside.surroundings**4 - wall**4)
        np.add.at(heat, outside.nodes, outside.area * flux)
        for sink in sinks:
            np.add.at(heat, sink.nodes, sink.conductance * (sink.temperature - temperature[sink.nodes]))
        return heat / capacity

    found, ends = [], np.unique([*at, *(time for time in kinks if time < at[-1])])
    begin, state = 0.0, np.array(start, dtype=float)
    band = _band(stiffness, body)
    for end in ends[ends > 0.0]:
        close = {"rtol": 1e-7, "atol": 1e-5, "max_step": most, "lband": band, "uband": band}
        done = solve_ivp(rate, (begin, end), state, method="LSODA", **close)
        assert done.success, done.message
        begin, state = end, done.y[:, -1]
        if end in at:
            found.append(state)
    return np.array(found), capacity


def _band(stiffness, body):
    """Return how far apart in number two nodes are that exchange heat, at most."""
    row, column = stiffness.nonzero()
    apart = [np.abs(row - column).max(), *(np.abs(one.second - one.first).max() for one in body.joints)]
    return int(max(apart))
