"""How hard the tool pushes on a thin wall as its outside is finished, and how far the wall gives way."""

import math

import numpy as np

from optitip.properties.machining import Cutting

PASSIVE = 0.5
"""of the cutting force pushes on the wall, square to it: 0.3 to 0.5 in handbooks, from memory"""
REACH = 8.0
"""of the shortest waves' number over 1/sqrt(R t) + pi/L: half a per cent of the deflection is left out"""
MOST = 400
"""waves either way at most, so that a foil costs no more than a wall"""
_CHIP = 1e-3  # [m] the width and thickness of Kienzle's chip


def edge_length(*, depth: float, nose_radius: float) -> float:
    """Return the length [m] of the tool's edge that cuts: an arc of its nose, then straight on.

    b = r acos(1 - a/r); with a beyond r, b = r pi/2 + a - r, square to the axis behind the nose.

    Args:
        depth: of cut a [m].
        nose_radius: of the edge r [m].

    Valid for a feed that is small against the radius.
    Source: plain geometry.

    A cut as deep as the radius takes a quarter of its circle.

    >>> round(edge_length(depth=0.4e-3, nose_radius=0.4e-3) * 1e3, 4)
    0.6283
    """
    if depth <= nose_radius:
        return nose_radius * math.acos(1.0 - depth / nose_radius)
    return 0.5 * math.pi * nose_radius + depth - nose_radius


def cutting_force(cutting: Cutting, *, depth: float, feed: float, nose_radius: float) -> float:
    """Return the force [N] along the cut: F = k b h^(1 - m), h and the edge b in mm, k in N/mm2.

    b is the length of edge that cuts, h = a f/b its mean chip.

    Args:
        cutting: k [Pa] of a chip of 1 mm by 1 mm, and m [1].
        depth: of cut a [m].
        feed: a turn f [m].
        nose_radius: of the edge [m].

    Valid for a sharp tool and chips of 0.05 to 1 mm, some 20 % either way; a worn edge doubles it.
    Source: Kienzle 1952 (from memory); the mean chip of a round edge: area over length, as Colwell 1954 has
    it (from memory).

    700 N/mm2, m 0.25, 0.4 deep with a nose of 0.4, 0.1 a turn: b 0.6283, h 0.06366,
    700 x 0.6283 x 0.06366^0.75 N.

    >>> one = Cutting(force=700e6, exponent=0.25)
    >>> round(cutting_force(one, depth=0.4e-3, feed=0.1e-3, nose_radius=0.4e-3), 1)
    55.7
    """
    b = edge_length(depth=depth, nose_radius=nose_radius)
    h = depth * feed / b
    chip = (h / _CHIP) ** (1.0 - cutting.exponent)
    return float(cutting.force * b * _CHIP * chip)


def wall_compliance(
    modulus: float, *, poisson: float, radius: float, thickness: float, length: float, around: float = 0.0
) -> float:
    """Return how far a round wall gives way inward [m/N] where a tool pushes at the middle of its length.

    w/P = 2 R^3/(pi L) times the sum of e q^2 cos(n c)/(D q^2 (q - 1)^2 + E t R^2 a^4) over m = 1, 3, .. and
    n = 0, 1, .. with a = m pi R/L, q = a^2 + n^2, D = E t^3/(12 (1 - nu^2)), e = 1/2 for n = 0, else 1.

    Args:
        modulus: E [Pa].
        poisson: nu [1].
        radius: R of the wall's middle [m].
        thickness: t [m].
        length: L between what holds it round at both ends [m].
        around: angle c from the tool to where it is asked for [rad].

    Valid for R/t from 5 up; ends held round but free to lean and to move along the axis, which is soft.
    Source: Morley 1959's equation for thin cylinders, solved by Navier's double series (from memory).

    The pinched cylinder of the shell benchmarks: E 3e6, nu 0.3, R 300, L 600, t 3, two loads of one opposite
    each other move 1.8248e-5 (published, from memory); this series 0.4 % less.

    >>> two = [wall_compliance(3e6, poisson=0.3, radius=300.0, thickness=3.0, length=600.0, around=c)
    ...     for c in (0.0, math.pi)]
    >>> f"{sum(two):.3e}"
    '1.817e-05'
    """
    R, t, L, E = radius, thickness, length, modulus
    k = REACH * (1.0 / math.sqrt(R * t) + math.pi / L)
    m = np.arange(1.0, 2.0 * min(math.ceil(0.5 * k * L / math.pi) + 1, MOST), 2.0)[:, None]
    n = np.arange(min(math.ceil(k * R), MOST) + 1.0)[None]
    a = m * (math.pi * R / L)
    a2 = a * a
    q = a2 + n * n
    D = E * t**3 / (12.0 * (1.0 - poisson**2))
    q2 = q * q
    terms = q2 / (D * q2 * (q - 1.0) ** 2 + E * t * R * R * a2 * a2)
    weight = np.cos(n[0] * around)
    weight[0] = 0.5
    return float(2.0 * R**3 / (math.pi * L) * (terms @ weight).sum())
