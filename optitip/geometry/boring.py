"""The bar that bores a cavity: how thick it may be, how far it stands out."""

from dataclasses import dataclass

import numpy as np

from optitip.arrays import FloatArray
from optitip.inputs.tip_tables import BoringBar

SHARE = 0.7  # of an opening's diameter that a bar may fill: room for chips, common practice, no source
# overhang over diameter that a bar still cuts at: makers' advice, common practice
STIFFEST = {
    BoringBar.STEEL: 4.0,
    BoringBar.HEAVY_METAL: 5.5,
    BoringBar.CARBIDE: 6.0,
    BoringBar.DAMPED: 10.0,
}
UNDERCUT = 1e-6  # [m]


@dataclass(frozen=True, slots=True, kw_only=True)
class Bar:
    """A bar, stepped where the cavity is: its diameters [m] and what it stands out [m].

    overhang: the lengths of its steps over their diameters, added up; limit: what its kind can do.
    undercut: how much wider than an opening aft of it the cavity becomes [m] in radius.
    """

    fore: float
    aft: float
    reach: float
    overhang: float
    limit: float
    undercut: float


def boring_bar(axial: FloatArray, *, radius: FloatArray, kind: BoringBar) -> Bar:
    """Return the stiffest bar [m] that gets into a cavity and cuts all of it.

    d(z) = 0.7 times 2 R(z), with R the narrowest radius from z to the open end, and where the cavity is wider
    by an undercut also d = 3 R - r at most: a head of width d/2 + f passes 2 R, and from R - d/2 beside the
    axis it cuts out to R - d/2 + f. Its overhang ratio = integral of dz/d: of a plain bar length over
    diameter. A bar that can't be there has an infinite one.

    axial, radius: ``(n,)`` [m] of the cavity's wall, fore face to open end, straight between.
    Valid for one bar from the open end; the fore face is drilled first.
    Source: plain geometry; 0.7 and the limits 4, 5.5 (5 to 6), 6 and 10 of steel, heavy metal, carbide and
    damped bars are common practice (makers' advice); the sum over steps is a rule of the house.

    >>> bar = boring_bar(np.array([0.0, 0.1]), radius=np.array([0.02, 0.02]), kind=BoringBar.STEEL)
    >>> round(bar.aft, 6), round(bar.overhang, 6), bar.limit
    (0.028, 3.571429, 4.0)
    """
    clear = np.minimum.accumulate(radius[::-1])[::-1]
    beyond = radius - clear
    undercut = float(beyond.max())
    thickness = 2.0 * SHARE * clear
    if undercut > UNDERCUT:
        behind = beyond > UNDERCUT
        thickness = np.minimum(thickness, float((3.0 * clear - radius)[behind].min()))
    bears = float(thickness.min()) > 0.0
    return Bar(
        fore=float(thickness[0]) if bears else 0.0,
        aft=float(thickness[-1]) if bears else 0.0,
        reach=float(axial[-1] - axial[0]),
        overhang=_steps(axial, thickness) if bears else np.inf,
        limit=STIFFEST[kind],
        undercut=undercut if undercut > UNDERCUT else 0.0,
    )


def _steps(axial: FloatArray, thickness: FloatArray) -> float:
    """Return the integral of dz/d between points where d is straight: dz log(d2/d1)/(d2 - d1)."""
    first, grows = thickness[:-1], thickness[1:] / thickness[:-1] - 1.0
    small = np.abs(grows) < 1e-6
    mean = np.where(small, 1.0 - 0.5 * grows, np.log1p(grows) / np.where(small, 1.0, grows))
    return float(np.sum((axial[1:] - axial[:-1]) / first * mean))
