"""Outline and band wall straight from the families' formulas, dense, without the package's outline or cavity.

Points are (z, r) in metres from the blunted nose point. The sphere is found by bisection on the normal's
length, the band's wall by offsets along the outline's normal with the thickness linear in arc length.
"""

import numpy as np
from scipy.optimize import brentq
from scipy.spatial import cKDTree

DENSE = 40001


def dense_outline(profile, *, length, tip_radius, turned_length, own_nose=False):
    """Return points (n, 2), slopes (n,) and arc lengths (n,) of a sharp ``profile(z) -> r, dr/dz``."""

    def normal_length(z):
        r, gradient = (float(x[0]) for x in profile(np.array([z])))
        return r * np.hypot(1.0, gradient) - tip_radius

    start, nose, sphere = 0.0, 0.0, np.zeros((0, 3))
    if not own_nose:
        stations = length * np.linspace(0.0, 1.0, 4001)[1:] ** 3
        r, gradient = profile(stations)
        first = int(np.argmax(r * np.hypot(1.0, gradient) >= tip_radius))
        low = 1e-3 * stations[0] if first == 0 else stations[first - 1]
        start = brentq(normal_length, low, stations[first], xtol=1e-15)
        r, gradient = (float(x[0]) for x in profile(np.array([start])))
        nose = start + r * gradient - tip_radius
        angle = np.linspace(0.0, np.arctan2(1.0, gradient), DENSE // 4)[:-1]
        sphere = np.column_stack(
            [tip_radius * (1.0 - np.cos(angle)), tip_radius * np.sin(angle), 0.5 * np.pi - angle]
        )
    z = start + (nose + turned_length - start) * np.linspace(0.0, 1.0, DENSE) ** 2
    r, gradient = profile(z)
    if own_nose:
        r[0], gradient[0] = 0.0, np.inf
    side = np.column_stack([z - nose, r, np.arctan(gradient)])
    curve = np.concatenate([sphere, side])
    steps = np.hypot(*np.diff(curve[:, :2], axis=0).T)
    return curve[:, :2], curve[:, 2], np.concatenate([[0.0], np.cumsum(steps)])


def dense_band(points, slope, arc, *, start, length, fore, aft):
    """Return the band's inner wall (n, 2): offset by a thickness linear in the outline's arc length."""
    inside = (arc > start) & (arc < start + length)
    s = np.concatenate([[start], arc[inside], [start + length]])
    z, r, angle = (np.interp(s, arc, column) for column in (*points.T, slope))
    thickness = fore + (aft - fore) * (s - start) / length
    return np.column_stack([z + thickness * np.sin(angle), r - thickness * np.cos(angle)])


def distances(samples, curve):
    """Return how far each sample (n, 2) lies from the dense curve (m, 2), by chords beside its nearest."""
    _, nearest = cKDTree(curve).query(samples)
    best = np.full(len(samples), np.inf)
    for offset in (-1, 0):
        i = np.clip(nearest + offset, 0, len(curve) - 2)
        a, b = curve[i], curve[i + 1]
        step = b - a
        share = np.einsum("ij,ij->i", samples - a, step) / np.einsum("ij,ij->i", step, step)
        foot = a + np.clip(share, 0.0, 1.0)[:, None] * step
        best = np.minimum(best, np.hypot(*(samples - foot).T))
    return best
