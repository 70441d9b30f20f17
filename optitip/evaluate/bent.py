"""What bends a built tip at its sections: a gust, its own inertia, a hand or the ground on its nose point."""

import numpy as np

from optitip.arrays import FloatArray
from optitip.evaluate.moments import Moments
from optitip.evaluate.shell import Shell
from optitip.metrics.bending import CrossLoads, cross_loads, sections_of


def bent_loads(shell: Shell, when: Moments, *, axial: FloatArray) -> CrossLoads:
    """Return the bending of the sections at stations ``axial`` (n_s,) [m], at each instant."""
    centre, mass = shell.lumps.T
    ahead = np.searchsorted(centre, axial, side="right")
    weights = np.append(0.0, np.cumsum(mass))[ahead]
    first = np.append(0.0, np.cumsum(mass * centre))[ahead]
    sections = sections_of(
        axial,
        outline_axial=shell.outline[:, 1],
        outline_radius=shell.outline[:, 0],
        mass=weights,
        centre=np.divide(first, weights, out=np.zeros_like(first), where=weights > 0.0),
    )
    return cross_loads(
        sections,
        dynamic_pressure=when.dynamic_pressure,
        incidence=when.incidence,
        acceleration=when.lateral,
        point_force=when.nose_force,
    )
