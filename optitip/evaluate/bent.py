"""What bends a built tip at its sections: a gust, its own inertia, a hand or the ground on its nose point."""

from dataclasses import dataclass

import numpy as np

from optitip.arrays import FloatArray, read_only
from optitip.evaluate.building import Tip
from optitip.evaluate.moments import Moments
from optitip.evaluate.shell import Shell
from optitip.metrics.bending import bending_stress, cross_loads


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Bent:
    """The bending moment [N m] at each instant (n_i, n_s) along the stations ``axial`` (n_s,) [m]."""

    axial: FloatArray
    moment: FloatArray

    def at(self, axial: FloatArray) -> FloatArray:
        """Return the moment (n_i, n) [N m] at other stations (n,) [m], straight between."""
        row = self.axial[1:-1].searchsorted(axial, side="right")
        share = (axial - self.axial[row]) / (self.axial[row + 1] - self.axial[row])
        fore, aft = self.moment.take(row, axis=1), self.moment.take(row + 1, axis=1)
        return np.asarray((1.0 - share) * fore + share * aft)

    def during(self, some: slice) -> "Bent":
        """Return the bending at some of the instants."""
        return Bent(axial=self.axial, moment=self.moment[some])


def bent(shell: Shell, when: Moments) -> Bent:
    """Return the bending of the tip along its outline, at each instant."""
    loads = cross_loads(
        shell.sections,
        dynamic_pressure=when.dynamic_pressure,
        incidence=when.incidence,
        acceleration=when.lateral,
        point_force=when.nose_force,
    )
    return Bent(axial=shell.sections.axial, moment=read_only(loads.moment))


def beam_stress(
    bending: Bent, clamp: FloatArray, *, axial: FloatArray, outer: FloatArray, inner: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Return the stress along the axis [Pa] of bending in the outermost fibre, and of the clamp (n_i, n).

    A section nearer to the nose point than its own radius is no beam: none is given there. A tie rod presses
    the hollow sections together all round.

    clamp: of the rod (n_i,) [N]. axial, outer, inner: station and radii of the sections (n,) [m].
    """
    fibre = bending_stress(bending.at(axial), outer=outer, inner=inner) * (axial >= outer)
    return fibre, np.where(inner > 0.0, clamp[:, None] / (np.pi * (outer**2 - inner**2)), 0.0)


def bent_nodes(tip: Tip, bending: Bent, clamp: FloatArray) -> FloatArray:
    """Return the stress of the tip bent as a beam at all nodes (n_i, n_nodes, 4) [Pa]: r, z, theta, rz.

    It is along the axis alone, a size. clamp: of a tie rod (n_i,) [N].
    """
    points, rows = tip.mesh.points, tip.mesh.rows[tip.mesh.rows[:, 0] != tip.mesh.rows[:, -1]]
    outer, inner, axial = points[rows[:, 0], 0], points[rows[:, -1], 0], points[rows[:, 0], 1]
    fibre, pressed = beam_stress(bending, clamp, axial=axial, outer=outer, inner=inner)
    stress = np.zeros((len(clamp), len(points), 4))
    stress[:, rows, 1] = fibre[..., None] * (points[rows, 0] / outer[:, None]) + pressed[..., None]
    return stress
