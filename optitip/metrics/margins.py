"""How far the walls, parts and joints are from their limits, with where and when each is nearest.

A margin is strength over (safety factor times load) less one: 0 at the limit, negative beyond it, -1 with
no strength left. No margin is given above ``CAP``: a wall without load has that one.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from optitip.arrays import FloatArray
from optitip.metrics.buckling import BandShape, buckling_use
from optitip.metrics.instants import Instant
from optitip.properties.materials import Elastic
from optitip.units import System, text

CAP = 10.0
LEAST_ROOM = 1.0  # K between start and limit, so that a hot start gives a number with the right sign


@dataclass(frozen=True, slots=True, kw_only=True)
class Margin:
    """One margin and what sets it.

    Args:
        name: metric name, such as margin.yield.
        value: 0 at the limit, positive inside it.
        part: the part or joint that sets it; empty where nothing does.
        axial: z of the place [m]; None where it has no single one.
        time: name of the instant.
        detail: the numbers behind it, each quantity as a place {0}, {1}, ... for one of ``figures``.
        figures: values and SI units of the quantities in ``detail``.
        seconds: the instant on the flight's clock [s]; None where it has none.
        repeats: name of the margin that this one, the smallest, is; empty for any other.
    """

    name: str
    value: float
    part: str
    axial: float | None
    time: str
    detail: str
    figures: tuple[tuple[float, str], ...] = ()
    seconds: float | None = None
    repeats: str = ""

    def said(self, system: System = System.METRIC) -> str:
        """Return the detail with its quantities in the units of ``system``.

        >>> one = Margin(name="", value=0.0, part="", axial=None, time="", detail="at {0}",
        ...     figures=((300.15, "K"),))
        >>> one.said(), one.said(System.US)
        ('at 27 degC', 'at 80.6 degF')
        """
        return self.detail.format(*(text(value, unit, system, digits=3) for value, unit in self.figures))


@dataclass(frozen=True, slots=True, kw_only=True)
class ServicePeak:
    """The hottest that a part or a joint with a service limit became.

    Args:
        part: its name.
        limit: service limit [K].
        start: temperature before the flight [K].
        peak: highest temperature; of a joint, that of its hotter face [K].
        axial: z of the place [m].
        time: name of the instant, or when it was.
        seconds: when it was [s], if known.
    """

    part: str
    limit: float
    start: float
    peak: float
    axial: float | None
    time: str
    seconds: float | None = None


def margin_of(strength: FloatArray, *, load: FloatArray, factor: float) -> FloatArray:
    """Return strength / (factor load) - 1, at most ``CAP``; -1 without strength.

    >>> margin_of(np.array([240.0, 240.0, 0.0]), load=np.array([80.0, 0.0, 0.0]), factor=1.5).tolist()
    [1.0, 10.0, -1.0]
    """
    used = factor * use_of(strength, load=load)
    return np.where(used > 1.0 / (1.0 + CAP), 1.0 / np.maximum(used, 1.0 / (1.0 + CAP)) - 1.0, CAP)


def use_of(strength: FloatArray, *, load: FloatArray) -> FloatArray:
    """Return load over strength, infinite without strength: where it is largest, the margin is smallest."""
    return np.divide(load, strength, out=np.full_like(load, np.inf), where=strength > 0.0)


def room_margin(
    name: str,
    *,
    taken: FloatArray,
    room: float,
    time: FloatArray,
    part: str,
    axial: float | None,
    factor: float,
    detail: str,
) -> Margin:
    """Return the smallest of room/(factor taken) - 1, with the instant when most is taken.

    Args:
        name: of the metric.
        taken: of the room (n_t,) [m]; none where it is negative.
        room: there is [m].
        time: (n_t,) [s].
        part: that the margin is of.
        axial: z of the place [m].
        factor: safety factor on what is taken.
        detail: words about both, {0} for what is taken and {1} for the room.

    >>> one = room_margin("margin.coupler", taken=np.array([0.0, 4e-5]), room=1e-4,
    ...     time=np.array([0.0, 90.0]), part="base", axial=0.2, factor=1.0, detail="grows by {0}, room {1}")
    >>> round(one.value, 9), one.time, one.said()
    (1.5, '90.0 s', 'grows by 0.04 mm, room 0.1 mm, factor 1')
    """
    worst = int(np.argmax(taken))
    most = max(float(taken[worst]), 0.0)
    value = float(margin_of(np.full(1, room), load=np.full(1, most), factor=factor)[0]) if most > 0.0 else CAP
    return Margin(
        name=name,
        value=value,
        part=part,
        axial=axial,
        time=f"{time[worst]:.1f} s",
        seconds=float(time[worst]),
        detail=f"{detail}, factor {factor:g}",
        figures=((most, "m"), (room, "m")),
    )


def service_margin(name: str, *, peaks: Iterable[ServicePeak]) -> Margin:
    """Return the smallest of (limit - peak) / (limit - start); 1 for a part that never warmed.

    The room from start to limit counts as at least ``LEAST_ROOM``, so a part that starts at its limit or
    beyond it has a number of the right sign. Without any limit the margin is ``CAP``.

    Args:
        name: margin.temperature (parts) or margin.joint (joints, their hotter face).
        peaks: one for each part or joint that has a service limit.

    >>> warm = ServicePeak(part="base", limit=350.0, start=300.0, peak=340.0, axial=0.2, time="landing")
    >>> service_margin("margin.temperature", peaks=[warm]).value
    0.2
    """
    found = [((peak.limit - peak.peak) / max(peak.limit - peak.start, LEAST_ROOM), peak) for peak in peaks]
    if not found:
        return Margin(name=name, value=CAP, part="", axial=None, time="", detail="nothing here has a limit")
    value, worst = min(found, key=lambda pair: pair[0])
    return Margin(
        name=name,
        value=float(min(value, CAP)),
        part=worst.part,
        axial=worst.axial,
        time=worst.time,
        seconds=worst.seconds,
        detail="{0}, limit {1}, start {2}",
        figures=((worst.peak, "K"), (worst.limit, "K"), (worst.start, "K")),
    )


def buckling_margin(
    band: BandShape,
    *,
    material: Elastic,
    temperature: FloatArray,
    pressure: FloatArray,
    axial_force: FloatArray,
    moment: FloatArray,
    instants: Sequence[Instant],
    factor: float,
) -> Margin:
    """Return the smallest of 1 / (factor use) - 1 of the band, pressed from outside, pushed and bent.

    Args:
        band: its shape.
        material: its elastic table.
        temperature: the highest of the band at each instant (n_i,) [K].
        pressure: outside over inside (n_i,) [Pa].
        axial_force: compression by all that acts ahead of it (n_i,) [N].
        moment: that bends it at its fore and its aft end (n_i, 2) [N m].
        instants: the instants (n_i,).
        factor: safety factor on the loads.
    """
    use = buckling_use(
        material.modulus_at(temperature),
        poisson=material.poisson,
        yield_strength=material.yield_at(temperature),
        band=band,
        pressure=pressure,
        axial_force=axial_force,
        moment=moment,
    )
    margins = margin_of(np.ones_like(use), load=use, factor=factor)
    worst = int(np.argmax(use))
    return Margin(
        name="margin.buckling",
        value=float(margins[worst]),
        part="band",
        axial=band.axial,
        time=instants[worst].name,
        seconds=instants[worst].time,
        detail=f"{{0}} outside over inside, {{1}} along the axis and {{2}} of bending use "
        f"{100.0 * use[worst]:.1f} % of the band's strength against collapse",
        figures=(
            (float(pressure[worst]), "Pa pressure"),
            (float(axial_force[worst]), "N"),
            (float(moment[worst].max()), "N m"),
        ),
    )


def smallest_margin(margins: Iterable[Margin]) -> Margin:
    """Return the smallest of the margins as margin.smallest; it and its detail tell which one it is."""
    worst = min(margins, key=lambda margin: margin.value)
    detail = f"{worst.name}: {worst.detail}"
    return replace(worst, name="margin.smallest", detail=detail, repeats=worst.name)
