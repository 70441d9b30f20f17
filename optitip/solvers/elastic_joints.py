"""Joints between parts of the shell that fit into each other: touching in some places, apart in others."""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum

import numpy as np

from optitip.arrays import BoolArray, FloatArray, IntArray, frozen, frozen_index
from optitip.solvers.elastic_assembly import BandPlan
from optitip.solvers.elastic_cells import NineNodeCells

_STEPS, _PATIENCE = 60, 3
_ROUND_OFF = 1e-9


class Spigot(Enum):
    """Which part goes into the other."""

    AFT = "the aft part's spigot stands in the fore part"
    FORE = "the fore part's spigot stands in the aft part"


@dataclass(frozen=True, slots=True, kw_only=True)
class JointFit:
    """How the two parts of a joint fit.

    Args:
        offset: how much larger in radius the spigot is than what it goes into, both free and cold [m]:
            above 0 an interference, below 0 a gap; 0 means bonded, radially too.
        spigot: which part carries it.
    """

    offset: float
    spigot: Spigot = Spigot.AFT


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Contact:
    """The places at which the sides of fitted joints may touch.

    Args:
        joint: number of each place's joint (n_c,).
        inside: free movement u_r of the spigot there (n_c,).
        around: free movement u_r of what is around it (n_c,).
        offset: radius that the spigot has too much there (n_c,) [m].
    """

    joint: IntArray
    inside: IntArray
    around: IntArray
    offset: FloatArray

    def pushes(self, free_count: int) -> FloatArray:
        """Return the forces (free_count, n_c) of 1 N at each place: spigot in, what is around out."""
        push = np.zeros((free_count, self.joint.size))
        place = np.arange(self.joint.size)
        push[self.inside, place] = -1.0
        push[self.around, place] = 1.0
        return push

    def by_joint(self, force: FloatArray, *, joints: int) -> FloatArray:
        """Return the forces (n_s, joints) [N] of each joint from those at the places (n_s, n_c)."""
        own = (self.joint[:, None] == np.arange(joints)).astype(np.float64)
        return np.asarray(force @ own)


def fitted_joints(fits: Mapping[int, JointFit]) -> tuple[int, ...]:
    """Return the numbers of the joints whose sides may come apart, fore to aft.

    >>> fitted_joints({1: JointFit(offset=1e-5), 0: JointFit(offset=0.0)})
    (1,)
    """
    return tuple(sorted(number for number, fit in fits.items() if fit.offset != 0.0))


def contact_of(
    points: FloatArray, *, cells: NineNodeCells, plan: BandPlan, fits: Mapping[int, JointFit]
) -> Contact | None:
    """Return the places of contact of all fitted joints, or none without any.

    A ring's row has the offset all along. A row that ends on the axis is a disc, too large by the offset at
    its rim and in proportion to the radius inside: as an evenly grown one is. The axis itself has no radius.

    Args:
        points: r and z of the thermal nodes (n_nodes, 2) [m].
        cells: with the fitted joints set apart.
        plan: number of each movement.
        fits: by number of the joint in ``cells.joints``.
    """
    parts = []
    for number in fitted_joints(fits):
        fore, aft = np.asarray(cells.rows)[cells.joints[number]]
        radius = np.asarray(points)[fore, 0]
        on_axis = radius <= _ROUND_OFF * radius.max()
        share = radius / radius.max() if on_axis.any() else np.ones_like(radius)
        inside, around = (aft, fore) if fits[number].spigot is Spigot.AFT else (fore, aft)
        places = [plan.number[cells.moving_of[side[~on_axis]], 0] for side in (inside, around)]
        parts.append((np.full(places[0].size, number), *places, fits[number].offset * share[~on_axis]))
    if not parts:
        return None
    joint, inner, outer, offset = (np.concatenate(column) for column in zip(*parts, strict=True))
    return Contact(
        joint=frozen_index(joint),
        inside=frozen_index(inner),
        around=frozen_index(outer),
        offset=frozen(offset),
    )


def touching(compliance: FloatArray, *, opening: FloatArray) -> tuple[FloatArray, BoolArray]:
    """Return the forces (n_s, n) [N] that keep sides from passing through each other, and where they touch.

    f >= 0, S f + g >= 0, f (S f + g) = 0: nothing pulls, nothing overlaps, and only what touches presses. S
    is positive definite, so there is one answer. Places that are all wrong change over together, and one at
    a time, the last first, once that brings nothing more.

    Args:
        compliance: S of each state, the opening [m] at each place per force [N] at each (n_s, n, n).
        opening: g, how far the sides are apart without contact (n_s, n) [m]; below 0 they overlap.

    Valid for positive definite S; after 60 steps, which no such S has needed, the best state met is taken.
    Source: principal pivoting of Murty, Opsearch 11 (1974) 123, in blocks after Judice & Pires, Comput. Oper.
    Res. 21 (1994) 587 (both from memory).

    Two places 10 um into each other, 1 um/N each and apart from one another, and a third 5 um clear:

    >>> force, touch = touching(1e-6 * np.eye(3)[None], opening=np.array([[-1e-5, -1e-5, 5e-6]]))
    >>> force.round(9).tolist(), touch.tolist()
    ([[10.0, 10.0, 0.0]], [[True, True, False]])
    """
    touch = opening < 0.0
    best_force, best_touch = np.zeros_like(opening), touch.copy()
    fewest = np.full(len(opening), opening.shape[1] + 1)
    patience = np.full(len(opening), _PATIENCE)
    for _ in range(_STEPS):
        force, wrong = _tried(compliance, opening, touch)
        count = wrong.sum(axis=1)
        better = count < fewest
        best_force[better], best_touch[better] = force[better], touch[better]
        if not count.any():
            break
        fewest = np.minimum(count, fewest)
        patience = np.where(better, _PATIENCE, patience - 1)
        last = wrong & (np.cumsum(wrong[:, ::-1], axis=1)[:, ::-1] == 1)
        touch = touch ^ np.where(patience[:, None] > 0, wrong, last)
    return np.maximum(best_force, 0.0), best_touch


def _tried(compliance: FloatArray, opening: FloatArray, touch: BoolArray) -> tuple[FloatArray, BoolArray]:
    """Return the forces that close the places said to touch, and the places where that isn't so."""
    force = _closing(compliance, opening, touch)
    apart = (compliance @ force[..., None])[..., 0] + opening
    pulls = force < -_ROUND_OFF * np.abs(force).max(axis=1, keepdims=True)
    overlaps = apart < -_ROUND_OFF * np.abs(opening).max(axis=1, keepdims=True)
    return force, np.where(touch, pulls, overlaps)


def _closing(compliance: FloatArray, opening: FloatArray, touch: BoolArray) -> FloatArray:
    """Return the forces (n_s, n) at the places that touch, which close them; none elsewhere."""
    both = touch[:, :, None] & touch[:, None, :]
    # what doesn't touch keeps a one of the size of the others, and gets no force
    alone = np.eye(touch.shape[1]) * np.abs(compliance).max(axis=(1, 2), keepdims=True)
    right = np.where(touch, -opening, 0.0)[..., None]
    return np.asarray(np.linalg.solve(np.where(both, compliance, alone), right)[..., 0])


def press(contact: Contact, *, moved: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the contact forces (n_s, n_c) [N] of the primary and of the total case.

    The total case finds where the sides touch; the primary one closes there, with no offset, what the loads
    open or shut. Its forces may pull: they lessen what an interference or heat presses.

    Args:
        contact: the places.
        moved: movements (2 + n_c, n_s, n) [m] without contact: of the primary case, of the total one, and
            under 1 N at each place.
    """
    opening = moved[..., contact.around] - moved[..., contact.inside]
    compliance = opening[2:].transpose(1, 2, 0)
    compliance = 0.5 * (compliance + compliance.transpose(0, 2, 1))
    force, touch = touching(compliance, opening=opening[1] - contact.offset)
    return _closing(compliance, opening[0], touch), force


def forces_ahead(cells: NineNodeCells, *, forces: FloatArray) -> FloatArray:
    """Return the loads' axial force (n_i, n_joints + 1) [N] on all ahead of each joint and of the aft face.

    Args:
        cells: the nine-node cells.
        forces: of the loads on each cell (n_i, m, 18) [N].
    """
    per_row = forces[:, :, 1::2].reshape(forces.shape[0], cells.fore_row.size, -1).sum(axis=2)
    ahead = np.concatenate((np.zeros((forces.shape[0], 1)), np.cumsum(per_row, axis=1)), axis=1)
    return ahead[:, np.append(np.searchsorted(cells.fore_row, cells.joints[:, 1]), cells.fore_row.size)]
