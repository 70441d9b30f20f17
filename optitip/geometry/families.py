"""The sharp outlines: radius and its gradient along the axis, from the sharp tip at z = 0."""

import numpy as np
from numpy.typing import ArrayLike

from optitip.arrays import FloatArray
from optitip.errors import UserMistakes
from optitip.inputs.study_tables import OutlineFamily

HAACK_CONSTANT = {OutlineFamily.VON_KARMAN: 0.0, OutlineFamily.HAACK_LV: 1.0 / 3.0}


def sharp_profile(
    axial: ArrayLike, *, family: OutlineFamily, diameter: float, length: float, exponent: float | None = None
) -> tuple[FloatArray, FloatArray]:
    """Return the radius r(z) [m] and its gradient dr/dz [-] of a sharp outline.

    With x = z/L and R = D/2:
    cone r = R x; tangent ogive r = sqrt(rho^2 - (L - z)^2) + R - rho, rho = (R^2 + L^2)/(2 R);
    Haack r = (R/sqrt(pi)) sqrt(theta - sin(2 theta)/2 + C sin^3 theta), cos(theta) = 1 - 2 x, C = 0 for
    von Karman's and 1/3 for the LV; ellipse r = R sqrt(2 x - x^2); power r = R x^n;
    parabola r = R (2 x - K' x^2)/(2 - K'). The power's n is 0.5 to 1 (below 0.5 the nose is flat), K' 0 to 1.

    ``axial`` (n,) [m] from the sharp tip; ``diameter`` and ``length`` [m] of the whole nose; ``exponent`` is
    n or K'.
    Valid 0 <= z <= L; where the family starts at a right angle to the axis its gradient at z = 0 is infinite.
    Source: textbook nose shapes; for the Haack series von Karman 1935, Haack 1941, Sears 1947 (from memory).

    >>> r, gradient = sharp_profile([0.05], family=OutlineFamily.CONE, diameter=0.04, length=0.1)
    >>> float(r[0]), round(float(gradient[0]), 12)
    (0.01, 0.2)
    """
    z = np.atleast_1d(np.asarray(axial, dtype=np.float64))
    R, L = 0.5 * diameter, length
    x = z / L
    with np.errstate(divide="ignore", invalid="ignore"):
        if family is OutlineFamily.CONE:
            return R * x, np.full_like(x, R / L)
        if family is OutlineFamily.TANGENT_OGIVE:
            return _ogive(z, R=R, L=L)
        if family in HAACK_CONSTANT:
            return _haack(x, R=R, L=L, C=HAACK_CONSTANT[family])
        if family is OutlineFamily.ELLIPSE:
            return R * np.sqrt(x * (2 - x)), R / L * (1 - x) / np.sqrt(x * (2 - x))
        n = _exponent(family, exponent)
        if family is OutlineFamily.POWER:
            return R * x**n, R / L * n * x ** (n - 1)
        return R * (2 * x - n * x**2) / (2 - n), R / L * (2 - 2 * n * x) / (2 - n)


def own_nose_radius(
    family: OutlineFamily, *, diameter: float, length: float, exponent: float | None = None
) -> float:
    """Return the radius of curvature [m] of the sharp outline's own nose point; 0 where it is a point.

    Ellipse R^2/L; power n = 1/2 R^2/(2 L); every other family 0.

    ``diameter`` and ``length`` [m] of the whole nose; ``exponent`` is the power's n.
    Valid for an n from 0.5 to 1; outside, a mistake under ``outline.exponent``.
    Source: limit of r sqrt(1 + r'^2) as z goes to 0 in the equations of ``sharp_profile``.

    >>> own_nose_radius(OutlineFamily.ELLIPSE, diameter=0.04, length=0.1)  # 0.02^2/0.1
    0.004
    """
    R = 0.5 * diameter
    if family is OutlineFamily.ELLIPSE:
        return R**2 / length
    if family is OutlineFamily.POWER:
        return R**2 / (2 * length) if _exponent(family, exponent) == 0.5 else 0.0
    return 0.0


def _ogive(z: FloatArray, *, R: float, L: float) -> tuple[FloatArray, FloatArray]:
    if L < R:
        raise UserMistakes.one(
            "outline.length",
            f"a tangent ogive {L * 1e3:.4g} mm long is shorter than its radius of {R * 1e3:.4g} mm",
            "Lengthen it, or take the ellipse",
        )
    rho = (R**2 + L**2) / (2 * R)
    root = np.sqrt(rho**2 - (L - z) ** 2)
    return root + R - rho, (L - z) / root


def _haack(x: FloatArray, *, R: float, L: float, C: float) -> tuple[FloatArray, FloatArray]:
    # arcsin of the root keeps its digits near the tip, where arccos(1 - 2 x) loses them
    theta = 2 * np.arcsin(np.sqrt(np.clip(x, 0, 1)))
    area = np.maximum(theta - 0.5 * np.sin(2 * theta) + C * np.sin(theta) ** 3, 0)
    gradient = R / L / np.sqrt(np.pi) * np.sin(theta) * (2 + 3 * C * np.cos(theta)) / np.sqrt(area)
    return R * np.sqrt(area / np.pi), np.where(theta > 0, gradient, np.inf)


def _exponent(family: OutlineFamily, exponent: float | None) -> float:
    name, low, remedy = (
        ("power's n", 0.5, "Give one from 0.5 to 1, such as 0.6")
        if family is OutlineFamily.POWER
        else ("parabola's K'", 0.0, "Give one from 0 to 1, such as 0.75")
    )
    if exponent is None or not low <= exponent <= 1:
        said = "is missing" if exponent is None else f"is {exponent:g}"
        raise UserMistakes.one("outline.exponent", f"the {name} {said}", remedy)
    return exponent
