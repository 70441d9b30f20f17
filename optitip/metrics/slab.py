"""What a slab bears, such as its own weight under acceleration, and whether it stays on the wall."""

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import ArrayLike

from optitip.arrays import FloatArray
from optitip.metrics.instants import Instant
from optitip.metrics.margins import Margin, margin_of, room_margin, use_of

SHOULDER, PRESSING, CONTACT = "margin.shoulder", "margin.pressing", "margin.contact"
"""The names of the metrics."""


def shoulder_stress(density: float, *, acceleration: ArrayLike, length: float) -> FloatArray:
    """Return the stress [Pa] with which a slab stands on the shoulder at its end, any shape; compression.

    sigma = rho |a| L: a column held at one end alone.

    Args:
        density: of the slab [kg/m3].
        acceleration: along the axis [m/s2], either sign: forward it stands on its aft end, else on its fore.
        length: of the slab along the axis [m].

    Valid for a slab that slides on the wall; friction, which carries part of it, is left out: on the safe
    side.
    Source: balance of forces.

    Egg white 40 mm long at 100 g: 1030 x 980.665 x 0.04.

    >>> round(float(shoulder_stress(1030.0, acceleration=-980.665, length=0.04)))
    40403
    """
    return np.asarray(density * np.abs(acceleration) * length)


def bond_shear(density: float, *, acceleration: ArrayLike, thickness: float) -> FloatArray:
    """Return the shear stress [Pa] on the face by which a slab is bonded to the wall, any shape.

    tau = rho |a| t: each piece hangs on the face behind it.

    Args:
        density: of the slab [kg/m3].
        acceleration: along the face [m/s2], either sign.
        thickness: of the slab [m].

    Valid for slabs thin beside their radius, bonded all over.
    Source: balance of forces.

    The same egg white, 5 mm thick: 1030 x 980.665 x 0.005.

    >>> round(float(bond_shear(1030.0, acceleration=980.665, thickness=0.005)), 1)
    5050.4
    """
    return np.asarray(density * np.abs(acceleration) * thickness)


def spin_pressure(density: float, *, spin: ArrayLike, radius: float, thickness: float) -> FloatArray:
    """Return the pressure [Pa] with which spin lays a slab on the wall, any shape.

    p = rho omega^2 r t: no hoop carries, the wall takes it all.

    Args:
        density: of the slab [kg/m3].
        spin: omega about the axis [rad/s].
        radius: r of the wall's inner side [m]; the slab's own mean is less, so this is on the safe side.
        thickness: t of the slab [m].

    Valid for slabs thin beside their radius.
    Source: balance of forces.

    10 turns a second at 25 mm, 5 mm thick: 1030 x 62.832^2 x 0.025 x 0.005.

    >>> round(float(spin_pressure(1030.0, spin=62.832, radius=0.025, thickness=0.005)), 1)
    508.3
    """
    return np.asarray(density * np.square(spin) * radius * thickness)


def pressing_force(pressure: float, *, area: float) -> float:
    """Return the force [N], all round, that presses a joint with a given pressure: N = p A.

    Args:
        pressure: of contact [Pa].
        area: of the contact [m2].

    Valid for an even pressure; what a spring or a wedge needs to give it depends on its shape.
    Source: definition.

    >>> round(pressing_force(20e3, area=0.006), 6)  # 20 kPa on 60 cm2
    120.0
    """
    return pressure * area


def lift_off_pressure(density: float, *, acceleration: ArrayLike, thickness: float) -> FloatArray:
    """Return the contact pressure [Pa] below which a slab leaves the wall on one side, any shape.

    p = rho |a| t: its own inertia, piece by piece.

    Args:
        density: of the slab, or the mean of slab and backing [kg/m3].
        acceleration: across the axis [m/s2], either sign.
        thickness: of all that is pressed [m].

    Valid for a limp slab, which no stiff neighbour holds.
    Source: balance of forces.

    1030 kg/m3, 5 g, 5 mm: 1030 x 49.033 x 0.005.

    >>> round(float(lift_off_pressure(1030.0, acceleration=49.033, thickness=0.005)), 2)
    252.52
    """
    return np.asarray(density * np.abs(acceleration) * thickness)


def shrink_gap(strain: ArrayLike, *, size: float) -> FloatArray:
    """Return the gap [m] that a slab which shortens by itself would leave to the wall, any shape.

    gap = e s.

    Args:
        strain: e that it has shortened by so far (never less than before) [1].
        size: s that shortens [m]: the wall's radius for a ring all round, which draws itself off it; the
            thickness for a strip that something presses from behind.

    Valid for a strain that is alike in all directions, before anything follows.
    Source: geometry.

    A ring of beef of r 25 mm that shortens by a fifth: 5 mm.

    >>> round(float(shrink_gap(0.2, size=0.025)) * 1e3, 6)
    5.0
    """
    return np.asarray(np.asarray(strain) * size)


def slab_margin(
    stresses: Mapping[str, FloatArray],
    *,
    low: float,
    expected: float,
    axial: float | None,
    instants: Sequence[Instant],
    factor: float,
) -> Margin:
    """Return the smallest of strength/(factor stress) - 1 of the slab, by the low strength of its kind.

    Args:
        stresses: by what presses, such as "its own weight on its shoulder" (n_i,) [Pa].
        low: strength that the margin is taken with [Pa].
        expected: strength that is told beside it [Pa].
        axial: z of the slab's end [m].
        instants: the instants (n_i,).
        factor: safety factor on the loads.

    >>> one = slab_margin({"its own weight": np.array([4e3, 10e3])}, low=18e3, expected=30e3, axial=0.1,
    ...     instants=(Instant(time=0.0, names=("start",)), Instant(time=2.0, names=("burnout",))), factor=1.5)
    >>> round(one.value, 9), one.time, one.said().partition(",")[0]
    (0.2, 'burnout', 'its own weight: 10 kPa')
    """
    rows = np.stack(list(stresses.values()))
    way, i = (int(k) for k in np.unravel_index(np.argmax(rows), rows.shape))
    stress = rows[way, i : i + 1]
    return Margin(
        name=SHOULDER,
        value=float(margin_of(np.full(1, low), load=stress, factor=factor)[0]),
        part="slab",
        axial=axial,
        time=instants[i].name,
        seconds=instants[i].time,
        detail=f"{list(stresses)[way]}: {{0}}, factor {factor:g}, strength {{1}} (low) to {{2}} (expected)",
        figures=((float(stress[0]), "Pa pressure"), (low, "Pa pressure"), (expected, "Pa pressure")),
    )


def pressing_margin(
    force: float,
    *,
    area: float,
    needed: FloatArray,
    axial: float | None,
    instants: Sequence[Instant],
    factor: float,
) -> Margin:
    """Return the smallest of p/(factor p_needed) - 1, p what a force presses the slab on the wall with.

    Args:
        force: of the pressing, all round [N].
        area: of the contact [m2].
        needed: pressure below which the slab leaves the wall (n_i,) [Pa].
        axial: z of the slab's middle [m].
        instants: the instants (n_i,).
        factor: safety factor on the loads.

    >>> one = pressing_margin(6.0, area=0.006, needed=np.array([250.0]), axial=0.1,
    ...     instants=(Instant(time=2.0, names=("burnout",)),), factor=2.0)
    >>> one.value, one.said()
    (1.0, '1 kPa presses the slab on the wall, 0.25 kPa keeps it there, factor 2')
    """
    given = np.full(len(needed), force / area)
    i = int(np.argmax(use_of(given, load=needed)))
    return Margin(
        name=PRESSING,
        value=float(margin_of(given, load=needed, factor=factor)[i]),
        part="joint of the sample",
        axial=axial,
        time=instants[i].name,
        seconds=instants[i].time,
        detail=f"{{0}} presses the slab on the wall, {{1}} keeps it there, factor {factor:g}",
        figures=((float(given[i]), "Pa pressure"), (float(needed[i]), "Pa pressure")),
    )


def contact_margin(
    gap: FloatArray, *, time: FloatArray, travel: float, axial: float | None, factor: float
) -> Margin:
    """Return the smallest of travel/(factor gap) - 1: whether the pressing follows what draws off the wall.

    Args:
        gap: that shrinkage and growth of the wall would leave (n_t,) [m]; none where it is negative.
        time: (n_t,) [s].
        travel: how far the pressing follows [m]; 0 where it doesn't.
        axial: z of the slab's middle [m].
        factor: safety factor on the gap.

    >>> one = contact_margin(np.array([0.0, 1e-3]), time=np.array([0.0, 30.0]), travel=3e-3, axial=0.1,
    ...     factor=1.5)
    >>> round(one.value, 9), one.time, one.said()
    (1.0, '30.0 s', 'the slab draws 1 mm off the wall, its pressing follows 3 mm, factor 1.5')
    """
    return room_margin(
        CONTACT,
        taken=gap,
        room=travel,
        time=time,
        part="joint of the sample",
        axial=axial,
        factor=factor,
        detail="the slab draws {0} off the wall, its pressing follows {1}",
    )
