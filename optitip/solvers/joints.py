"""The joints of a body as one table: what each pair passes, and how that changes with temperature.

Temperatures and heats are ``(..., n)``, any number of states before the pairs.

q = h (T_first - T_second),   1/h = 1/h0 + max(0, gap_rate (T_first - gap_reference))/gap_conductivity
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from optitip.arrays import FloatArray, IntArray, frozen, read_only
from optitip.solvers import banded
from optitip.solvers.body import HeatBody
from optitip.solvers.layout import Layout


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class JointTable:
    """The pairs of all joints behind one another, all first ends then all second ends in ``both``.

    mean_of_ends ``(2 n, n_materials)``: takes values at ``both`` to their mean over each material's ends;
    endless ``(n_materials,)``: 1 where a material has none.
    pressed: area times conductance [W/K], what a pair passes without a gap.
    gap_rate ``(n,)`` [m2 K/W per K]: how fast the gap's resistance grows with the first end's temperature.
    """

    first: IntArray
    second: IntArray
    both: IntArray
    mean_of_ends: FloatArray
    endless: FloatArray
    area: FloatArray
    conductance: FloatArray
    pressed: FloatArray
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
        heat: FloatArray = first - second
        heat *= self.area * self._conductance(first) if self.captive else self.pressed
        return heat

    def slope(self, first: FloatArray, *, second: FloatArray) -> FloatArray:
        """Return the mean of what each pair passes more per kelvin at its first and less at its second end.

        h + (dh/dT_first) (T_first - T_second)/2, never below h/2: the nearest a symmetric block comes. A
        gap that opens under a strong flux would else leave the second end, which answers with h, no block.
        """
        if not self.captive:
            return self.pressed
        h = self._conductance(first)
        opening = self.gap_rate * (first > self.gap_reference)
        h *= np.maximum(1.0 - 0.5 * h * opening * (first - second), 0.5)
        h *= self.area
        return h

    def stacked(self, areas: Sequence[FloatArray]) -> "JointTable":
        """Return the table for several states whose pairs have these areas: ``(n_states, n)``."""
        area = np.stack(areas)
        return replace(self, area=area, pressed=area * self.conductance)

    def _conductance(self, first: FloatArray) -> FloatArray:
        gap = self.gap_rate * (first - self.gap_reference)
        np.maximum(gap, 0.0, out=gap)
        return self.conductance / (1.0 + self.conductance * gap)


def joint_table(body: HeatBody, *, layout: Layout) -> JointTable:
    """Return the table of the body's joints."""
    joints = body.joints
    gap_rate = _every([joint.gap_rate / joint.gap_conductivity for joint in joints])
    reference = np.repeat([joint.gap_reference for joint in joints], [joint.first.size for joint in joints])
    area = _every([joint.area for joint in joints])
    conductance = _every([joint.conductance for joint in joints])
    return JointTable(
        first=layout.first,
        second=layout.second,
        both=layout.both,
        mean_of_ends=layout.mean_of_ends,
        endless=layout.endless,
        area=area,
        conductance=conductance,
        pressed=read_only(area * conductance),
        gap_rate=gap_rate,
        gap_reference=frozen(reference),
        captive=bool((gap_rate != 0.0).any()),
    )


def _every(arrays: list[FloatArray]) -> FloatArray:
    return read_only(np.concatenate([np.empty(0), *arrays]))
