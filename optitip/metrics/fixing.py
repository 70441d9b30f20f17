"""What holds the tip's parts together (threads, screws through a spigot, a tie rod) and pulls them apart.

Forces that pull parts asunder are positive; one that pushes them together needs no strength.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum

import numpy as np
from numpy.typing import ArrayLike

from optitip.arrays import FloatArray
from optitip.metrics.instants import Instant
from optitip.metrics.margins import Margin, margin_of, use_of
from optitip.properties.threads import Thread

SHEAR = 0.577
"""Yield in shear over yield in tension, dimensionless (von Mises: 1/sqrt(3))."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Strength:
    """What a joint bears at each instant, way by way in which it can give.

    Args:
        ways: what gives, as a person reads it.
        force: that it gives at, a row a way (n_w, n_i) [N].
    """

    ways: tuple[str, ...]
    force: FloatArray

    @property
    def least(self) -> FloatArray:
        """Return the force [N] of the weakest way (n_i,)."""
        return np.asarray(self.force.min(axis=0))

    def weakest(self, instant: int) -> str:
        """Return the way that gives first at an instant.

        >>> one = Strength(ways=("screw", "wall"), force=np.array([[2.0, 5.0], [3.0, 4.0]]))
        >>> one.least.tolist(), one.weakest(1)
        ([2.0, 4.0], 'wall')
        """
        return self.ways[int(np.argmin(self.force[:, instant]))]


def equivalent_force(force: ArrayLike, *, moment: ArrayLike, radius: float) -> FloatArray:
    """Return the even force [N] that loads a ring as force and moment do on its most pulled side, any shape.

    P = F + 2 |M|/r, since the line load of a ring is F/(2 pi r) + |M|/(pi r^2).

    Args:
        force: along the axis, positive asunder [N].
        moment: bending at the joint [N m].
        radius: of the thread, or the circle of the screws [m].

    Valid for a stiff ring, three screws or more.
    Source: thin ring in bending, any textbook.

    10 N m on a ring of 20 mm radius is as bad as 1000 N.

    >>> float(equivalent_force(0.0, moment=-10.0, radius=0.02))
    1000.0
    """
    return np.asarray(np.asarray(force) + 2.0 * np.abs(moment) / radius)


def opening_radius(inner: float, *, outer: float) -> float:
    """Return the radius [m] at which ``equivalent_force`` tells when a clamped ring starts to open.

    r = (r_o^2 + r_i^2)/(2 r_o): the pressed face is free of stress on one side once M = F r/2, its kern.

    Args:
        inner: r_i of the face [m], 0 of a disc.
        outer: r_o [m].

    Valid for a face that stays flat: pressed evenly by F, bent by M.
    Source: kern of a ring (r_o^2 + r_i^2)/(4 r_o), of a disc r_o/4 (any textbook of strength).

    A thin ring opens by its own radius; a disc at M = F r_o/4.

    >>> opening_radius(0.02, outer=0.02), opening_radius(0.0, outer=0.02)
    (0.02, 0.01)
    """
    return (outer**2 + inner**2) / (2.0 * outer)


def thread_strength(
    thread: Thread,
    *,
    length: float,
    external_yield: FloatArray,
    internal_yield: FloatArray,
    bore: float = 0.0,
    outside: float | None = None,
) -> Strength:
    """Return the pull along the axis at which a threaded joint begins to give [N], way by way.

    P = 0.577 S_e A_e or 0.577 S_i A_i strips a thread; S_e A_root or S_i A_wall tears beside it.

    Args:
        thread: which.
        length: of full engagement [m].
        external_yield: S_e of the part with the external thread, at temperature (n_i,) [Pa].
        internal_yield: S_i of the part with the internal thread (n_i,) [Pa].
        bore: diameter of a hole through the part with the external thread [m]. A solid screw tears by its
            stress area, a bored one by the ring between bore and root.
        outside: diameter over the part with the internal thread [m]; None where it is thick.

    Valid for full profiles engaged not much beyond 1.5 diameters of a screw; on wide fine threads the load is
    even only as far as both rings are alike, up to some eight pitches (common practice, no source).
    Source: FED-STD-H28/2 for the areas; von Mises for 0.577.

    M6, 6 mm in aluminium of 240 MPa, screw of 640 MPa: 0.577 x 240 x 73.60 mm2; 640 x 20.12.

    >>> from optitip.properties.threads import thread_of
    >>> one = thread_strength(thread_of("M6"), length=0.006, external_yield=np.array([640e6]),
    ...     internal_yield=np.array([240e6]))
    >>> [(way, round(float(force[0]))) for way, force in zip(one.ways, one.force)][1:]
    [('the internal thread strips', 10192), ('the part with the external thread tears', 12879)]
    """
    neck = thread.tensile_area if bore == 0.0 else np.pi / 4.0 * (thread.root**2 - bore**2)
    torn = (
        "the part with the external thread tears" if neck > 0.0 else "its bore leaves no metal in the thread"
    )
    ways = {
        "the external thread strips": SHEAR * external_yield * thread.external_shear_area(length),
        "the internal thread strips": SHEAR * internal_yield * thread.internal_shear_area(length),
        torn: external_yield * max(neck, 0.0),
    }
    if outside is not None:
        ring = np.pi / 4.0 * (outside**2 - thread.major**2)
        torn = (
            "the part with the internal thread tears" if ring > 0.0 else "no metal is left round the thread"
        )
        ways[torn] = internal_yield * max(ring, 0.0)
    return Strength(ways=tuple(ways), force=np.stack(list(ways.values())))


def screws_strength(
    thread: Thread,
    *,
    count: int,
    screw_yield: FloatArray,
    wall_yield: FloatArray,
    wall_thickness: float,
    edge: float | None = None,
) -> Strength:
    """Return the pull along the axis at which screws across it, through a spigot, begin to give [N].

    P = n 0.577 S A_t shears the screws, n S_w d t crushes the wall, n 2 t (e - d/2) 0.577 S_w tears it out.

    Args:
        thread: of the screws, one shear plane each, in the thread.
        count: n, all around.
        screw_yield: S at temperature (n_i,) [Pa].
        wall_yield: S_w of the weaker wall (n_i,) [Pa].
        wall_thickness: t of that wall at the screws [m].
        edge: e from the screws' centres to the wall's edge [m]; None where it is far.

    Valid for screws that all bear alike: holes drilled through both parts together. Bearing at yield once is
    on the safe side (1.5 times is in use for e of 2 d, from memory); heads and pull-out aren't judged.
    Source: single shear and bearing, any textbook; von Mises for 0.577.

    Four M3 (5.03 mm2) of 200 MPa: 4 x 0.577 x 200 x 5.031; wall 1.5 mm of 240 MPa: 4 x 240 x 3 x 1.5.

    >>> from optitip.properties.threads import thread_of
    >>> one = screws_strength(thread_of("M3"), count=4, screw_yield=np.array([200e6]),
    ...     wall_yield=np.array([240e6]), wall_thickness=0.0015)
    >>> [round(float(force[0])) for force in one.force]
    [2322, 4320]
    """
    ways = {
        "the screws shear": count * SHEAR * screw_yield * thread.tensile_area,
        "the wall is crushed at the screws": count * wall_yield * thread.major * wall_thickness,
    }
    if edge is not None:
        plane = 2.0 * wall_thickness * max(edge - 0.5 * thread.major, 0.0)
        ways["the wall tears from the screws to its edge"] = count * SHEAR * wall_yield * plane
    return Strength(ways=tuple(ways), force=np.stack(list(ways.values())))


@dataclass(frozen=True, slots=True, kw_only=True)
class TieRod:
    """A rod along the axis that clamps the shell.

    Args:
        preload: its pull after assembly [N].
        rod_stiffness: E A/L of the rod at its length under load [N/m].
        shell_stiffness: the same of what it clamps [N/m].
    """

    preload: float
    rod_stiffness: float
    shell_stiffness: float


class Fails(Enum):
    """What a joint's margin is about; the value is the metric's name."""

    RETENTION = "margin.retention"
    THREAD = "margin.thread"
    ROD = "margin.rod"


def stiffness(modulus: ArrayLike, *, area: float, length: float) -> FloatArray:
    """Return how stiff a bar is along its axis [N/m], any shape: k = E A/L.

    Args:
        modulus: E [Pa].
        area: A across the axis [m2].
        length: L under load [m].

    Valid for an even bar; parts in a row: 1/k = sum of 1/k_i.
    Source: Hooke.

    >>> round(float(stiffness(200e9, area=20e-6, length=0.1)) / 1e6, 6)  # 200e9 x 20e-6/0.1
    40.0
    """
    return np.asarray(np.asarray(modulus) * area / length)


def clamp_force(rod: TieRod, *, growth: ArrayLike) -> FloatArray:
    """Return the force with which a rod clamps the shell while nothing else pulls [N], 0 at least.

    F = F_0 + growth/(1/k_r + 1/k_s).

    Args:
        rod: preload and stiffnesses.
        growth: how much more the shell grows in length than the rod [m]; negative slackens it.

    Valid within yield, the stiffnesses held.
    Source: springs in series.

    2 kN, 40 and 160 N/um: 10 um add 10 x 32 N; 100 um the other way would leave less than nothing.

    >>> rod = TieRod(preload=2000.0, rod_stiffness=40e6, shell_stiffness=160e6)
    >>> clamp_force(rod, growth=[10e-6, -100e-6]).round(6).tolist()
    [2320.0, 0.0]
    """
    both = 1.0 / (1.0 / rod.rod_stiffness + 1.0 / rod.shell_stiffness)
    return np.maximum(rod.preload + np.asarray(growth) * both, 0.0)


def opening_force(rod: TieRod, *, clamp: ArrayLike) -> FloatArray:
    """Return the separating force that opens the joint under a rod's head [N], any shape.

    P = F (1 + k_r/k_s): a pull unloads the shell by its share k_s/(k_r + k_s) alone.

    Args:
        rod: its stiffnesses.
        clamp: F, what is left of the clamp [N].

    Valid for a pull that acts at the rod's ends; one nearer the joint opens it sooner, at F at the least.
    Source: bolted joints, any textbook.

    >>> rod = TieRod(preload=2000.0, rod_stiffness=40e6, shell_stiffness=160e6)
    >>> float(opening_force(rod, clamp=2000.0))  # 2000 x 1.25
    2500.0
    """
    return np.asarray(np.asarray(clamp) * (1.0 + rod.rod_stiffness / rod.shell_stiffness))


def rod_tension(rod: TieRod, *, clamp: ArrayLike, separating: ArrayLike) -> FloatArray:
    """Return the pull in the rod [N], any shape.

    T = F + P k_r/(k_r + k_s) while the joint is shut, P once it is open: the larger of both.

    Args:
        rod: its stiffnesses.
        clamp: F, without the separating force [N].
        separating: P, positive asunder [N]; what pushes together doesn't relieve the rod here.

    Valid as ``opening_force`` is.
    Source: bolted joints, any textbook.

    >>> rod = TieRod(preload=2000.0, rod_stiffness=40e6, shell_stiffness=160e6)
    >>> rod_tension(rod, clamp=2000.0, separating=[0.0, 1000.0, 2500.0, 4000.0]).tolist()
    [2000.0, 2200.0, 2500.0, 4000.0]
    """
    P = np.maximum(separating, 0.0)
    return np.maximum(
        np.asarray(clamp) + P * rod.rod_stiffness / (rod.rod_stiffness + rod.shell_stiffness), P
    )


def joint_margin(
    strength: Strength,
    *,
    about: Fails,
    load: FloatArray,
    part: str,
    axial: float | None,
    instants: Sequence[Instant],
    factor: float,
) -> Margin:
    """Return the smallest of strength/(factor load) - 1 of a joint over the instants.

    Args:
        strength: what it bears, way by way (n_w, n_i) [N].
        about: which margin it is.
        load: that pulls it asunder, or pulls the rod (n_i,) [N]; what pushes together counts as none.
        part: the joint's name.
        axial: z of the joint [m].
        instants: the instants (n_i,).
        factor: safety factor on the load.

    >>> one = Strength(ways=("screw", "wall"), force=np.array([[200.0, 500.0], [300.0, 400.0]]))
    >>> when = (Instant(time=2.0, names=("burnout",)), Instant(time=20.0, names=("snatch",)))
    >>> worst = joint_margin(one, about=Fails.RETENTION, load=np.array([50.0, 160.0]), part="base", axial=0.1,
    ...     instants=when, factor=2.0)
    >>> worst.value, worst.time, worst.said()
    (0.25, 'snatch', 'wall at 400 N, load 160 N, factor 2')
    """
    least, pull = strength.least, np.maximum(load, 0.0)
    i = int(np.argmax(use_of(least, load=pull)))
    return Margin(
        name=about.value,
        value=float(margin_of(least, load=pull, factor=factor)[i]),
        part=part,
        axial=axial,
        time=instants[i].name,
        seconds=instants[i].time,
        detail=f"{strength.weakest(i)} at {{0}}, load {{1}}, factor {factor:g}",
        figures=((float(least[i]), "N"), (float(pull[i]), "N")),
    )


def rod_margins(
    rod: TieRod,
    *,
    thread: Thread,
    engaged: float,
    growth: FloatArray,
    separating: FloatArray,
    rod_yield: FloatArray,
    nut_yield: FloatArray,
    axial: float | None,
    instants: Sequence[Instant],
    factor: float,
) -> tuple[Margin, Margin, Margin]:
    """Return the margins of a tie rod: the joint stays shut, its thread doesn't strip, the rod doesn't yield.

    Args:
        rod: preload and stiffnesses.
        thread: of the rod.
        engaged: length of full engagement of its thread [m].
        growth: how much more the shell grows in length than the rod (n_i,) [m].
        separating: force that pulls the joint asunder (n_i,) [N].
        rod_yield: at temperature (n_i,) [Pa].
        nut_yield: of what the rod is screwed into (n_i,) [Pa].
        axial: z of the joint [m].
        instants: the instants (n_i,).
        factor: safety factor on the loads; on the rod's whole pull, preload included.

    >>> from optitip.properties.threads import thread_of
    >>> rod = TieRod(preload=2000.0, rod_stiffness=40e6, shell_stiffness=160e6)
    >>> three = rod_margins(rod, thread=thread_of("M6"), engaged=0.008, growth=np.array([0.0]),
    ...     separating=np.array([1000.0]), rod_yield=np.array([640e6]), nut_yield=np.array([240e6]),
    ...     axial=None, instants=(Instant(time=20.0, names=("snatch",)),), factor=1.5)
    >>> [(one.name, round(one.value, 2)) for one in three]  # 2500/1500; 13588/3300; 12879/3300
    [('margin.retention', 0.67), ('margin.thread', 3.12), ('margin.rod', 2.9)]
    """
    clamp = clamp_force(rod, growth=growth)
    pull = rod_tension(rod, clamp=clamp, separating=separating)
    threads = thread_strength(thread, length=engaged, external_yield=rod_yield, internal_yield=nut_yield)
    found = (
        (Fails.RETENTION, ("the joint opens",), opening_force(rod, clamp=clamp)[None], separating),
        (Fails.THREAD, threads.ways[:2], threads.force[:2], pull),
        (Fails.ROD, ("the rod yields",), threads.force[2:], pull),
    )
    shut, strips, yields = (
        joint_margin(
            Strength(ways=ways, force=force),
            about=about,
            load=load,
            part="tie rod",
            axial=axial,
            instants=instants,
            factor=factor,
        )
        for about, ways, force, load in found
    )
    return shut, strips, yields
