"""The joints of a body as one table: what each pair passes, and how that changes with temperature.

Temperatures and heats are ``(..., n)``, any number of states before the pairs.

q = h (T_first - T_second),   1/h = 1/h0 + max(0, gap_rate (T_first - gap_reference))/gap_conductivity
"""

from dataclasses import dataclass

import numpy as np

from optitip.arrays import FloatArray, IntArray, frozen, frozen_index
from optitip.solvers import banded
from optitip.solvers.body import HeatBody, HeatJoint


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class JointTable:
    """The pairs of all joints behind one another, all first ends then all second ends in ``both``.

    mean_of_ends ``(2 n, n_materials)``: takes values at ``both`` to their mean over each material's ends;
    endless ``(n_materials,)``: 1 where a material has none.
    gap_rate ``(n,)`` [m2 K/W per K]: how fast the gap's resistance grows with the first end's temperature.
    """

    first: IntArray
    second: IntArray
    both: IntArray
    mean_of_ends: FloatArray
    endless: FloatArray
    area: FloatArray
    conductance: FloatArray
    gap_rate: FloatArray
    gap_reference: FloatArray
    captive: bool

    def positions(self, *, width: int) -> IntArray:
        """Return where each pair stands in the flat band."""
        row, column = np.minimum(self.first, self.second), np.maximum(self.first, self.second)
        return banded.positions(row, column, width=width)

    def mean_by_material(self, values: FloatArray) -> FloatArray:
        """Return the mean of the values at ``both`` over each material's joint ends, 1 where it has none."""
        mean: FloatArray = values @ self.mean_of_ends
        mean += self.endless
        return mean

    def passed(self, first: FloatArray, *, second: FloatArray) -> FloatArray:
        """Return the heat each pair passes [W] from its first to its second end, at their temperatures."""
        heat = self._conductance(first)
        heat *= self.area
        heat *= first - second
        return heat

    def slope(self, first: FloatArray, *, second: FloatArray) -> FloatArray:
        """Return the mean of what each pair passes more per kelvin at its first and less at its second end.

        h + (dh/dT_first) (T_first - T_second)/2, never below zero: the nearest a symmetric block comes.
        """
        h = self._conductance(first)
        if self.captive:
            opening = self.gap_rate * (first > self.gap_reference)
            h *= np.maximum(1.0 - 0.5 * h * opening * (first - second), 0.0)
        h *= self.area
        return h

    def _conductance(self, first: FloatArray) -> FloatArray:
        if not self.captive:
            return np.broadcast_to(self.conductance, first.shape).copy()
        gap = self.gap_rate * (first - self.gap_reference)
        np.maximum(gap, 0.0, out=gap)
        return self.conductance / (1.0 + self.conductance * gap)


def joint_ends(joints: tuple[HeatJoint, ...]) -> IntArray:
    """Return the nodes of all pairs, ``(2, n)``: first ends, second ends."""
    empty = np.empty(0, dtype=np.int64)
    first = np.concatenate([empty, *(joint.first for joint in joints)])
    second = np.concatenate([empty, *(joint.second for joint in joints)])
    return np.stack([first, second])


def joint_table(body: HeatBody, *, node_material: IntArray) -> JointTable:
    """Return the table of the body's joints; a pair joined twice is refused."""
    ends, joints = joint_ends(body.joints), body.joints
    if np.unique(np.sort(ends, axis=0), axis=1).shape != ends.shape:
        raise ValueError("two joints join the same pair of nodes")
    both = frozen_index(ends.ravel())
    of_material = node_material[both][:, None] == np.arange(len(body.materials))
    counts = of_material.sum(axis=0)
    gap_rate = _every([joint.gap_rate / joint.gap_conductivity for joint in joints])
    reference = np.repeat([joint.gap_reference for joint in joints], [joint.first.size for joint in joints])
    return JointTable(
        first=frozen_index(ends[0]),
        second=frozen_index(ends[1]),
        both=both,
        mean_of_ends=frozen(of_material / np.maximum(counts, 1)),
        endless=frozen(counts == 0),
        area=_every([joint.area for joint in joints]),
        conductance=_every([joint.conductance for joint in joints]),
        gap_rate=gap_rate,
        gap_reference=frozen(reference),
        captive=bool((gap_rate != 0.0).any()),
    )


def _every(arrays: list[FloatArray]) -> FloatArray:
    return frozen(np.concatenate([np.empty(0), *arrays]))
