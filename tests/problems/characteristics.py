"""The flow past a pointed body of revolution by the method of characteristics, with its bow shock fitted.

Planes across the axis are marched aft. At each new point the two Mach lines and the streamline are traced
back to the plane before; along them, with the flow's angle t, the Mach angle m and entropy kept on
streamlines, sqrt(M^2 - 1)/(1.4 p M^2) dp +- dt + sin t/(r M cos(t +- m)) dz = 0. The body gives the angle,
the shock its jump. It shares nothing with the package; pressures are over the stream's, gamma is 1.4.
"""

import numpy as np
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

GAMMA = 1.4


def behind(mach, angle):
    """Return pressure, flow angle and total pressure, over the stream's, behind a shock at ``angle``."""
    square = (mach * np.sin(angle)) ** 2
    pressure = 1.0 + 7.0 / 6.0 * (square - 1.0)
    turn = np.arctan(2.0 / np.tan(angle) * (square - 1.0) / (mach**2 * (GAMMA + np.cos(2.0 * angle)) + 2.0))
    total = (6.0 * square / (square + 5.0)) ** 3.5 * (6.0 / (7.0 * square - 1.0)) ** 2.5
    return pressure, turn, total


def local_mach(pressure, total, *, mach):
    """Return the Mach number at a pressure and total pressure, both over the stream's."""
    return np.sqrt(5.0 * ((total / pressure) ** (2.0 / 7.0) * (1.0 + 0.2 * mach**2) - 1.0))


def conical(mach, shock):
    """Return the half angle of the cone under a shock, and the velocities (along, across) at each ray."""
    pressure, turn, total = behind(mach, shock)
    square = local_mach(pressure, total, mach=mach) ** 2
    speed = np.sqrt(0.2 * square / (1.0 + 0.2 * square))

    def rates(ray, velocity):
        u, v = velocity
        a = 0.2 * (1.0 - u * u - v * v)
        return [v, (v * v * u - a * (2.0 * u + v / np.tan(ray))) / (a - v * v)]

    def wall(_, velocity):
        return velocity[1]

    wall.terminal = True
    start = [speed * np.cos(shock - turn), -speed * np.sin(shock - turn)]
    run = solve_ivp(rates, (shock, 1e-4), start, events=wall, rtol=1e-10, atol=1e-12, dense_output=True)
    return run.t_events[0][0], run.sol


def shock_of_cone(mach, half_angle):
    """Return the angle of the weak shock on a cone."""
    angles = np.linspace(np.arcsin(1.0 / mach) * 1.0005, np.radians(70.0), 60)
    cones = np.array([conical(mach, angle)[0] for angle in angles])
    last = np.argmax(cones)
    first = np.searchsorted(cones[:last], half_angle)
    return brentq(
        lambda angle: conical(mach, angle)[0] - half_angle,
        angles[max(first - 1, 0)],
        angles[min(first + 1, last)],
        xtol=1e-13,
    )


class Plane:
    """Angle, pressure and total pressure at even radii from body to shock."""

    def __init__(self, z, radius, values, shock):
        self.z, self.radius, self.values, self.shock = z, radius, values, shock

    def at(self, radius):
        """Return (angle, pressure, total pressure) at ``radius``, by the parabola through three points."""
        step = (self.radius[-1] - self.radius[0]) / (self.radius.size - 1)
        place = (np.clip(radius, self.radius[0], self.radius[-1]) - self.radius[0]) / step
        middle = np.clip(np.rint(place).astype(int), 1, self.radius.size - 2)
        t = place - middle
        near = (self.values[:, middle + k] for k in (-1, 0, 1))
        return sum(w * v for w, v in zip((t * (t - 1) / 2, 1 - t * t, t * (t + 1) / 2), near, strict=True))


def first_plane(mach, *, z, radius, slope, count):
    """Return the plane of conical flow where a body that starts as a cone has ``radius`` and ``slope``."""
    shock = shock_of_cone(mach, slope)
    cone, velocities = conical(mach, shock)
    reach = radius / np.tan(slope)
    r = np.linspace(radius, reach * np.tan(shock), count)
    ray = np.arctan2(r, reach)
    u, v = velocities(np.clip(ray, cone, shock))
    angle = ray + np.arctan2(v, u)
    angle[0] = slope
    total = np.full(count, behind(mach, shock)[2])
    pressure = total * ((1.0 + 0.2 * mach**2) * (1.0 - u * u - v * v)) ** 3.5
    return Plane(z, r, np.array([angle, pressure, total]), shock)


def along(plane, new, h, radius, sign, *, mach):
    """Return k and c of k p + sign angle = c along a Mach line from the plane before."""

    def parts(values, r):
        angle, pressure, total = values
        m = local_mach(pressure, total, mach=mach)
        lean = angle + sign * np.arcsin(1.0 / m)
        bent = np.sin(angle) / (r * m * np.cos(lean))
        return np.tan(lean), np.sqrt(m * m - 1.0) / (GAMMA * pressure * m * m), bent

    slope, stiff, bent = parts(new, radius)
    foot = radius - h * slope
    for _ in range(2):
        foot = radius - 0.5 * h * (slope + parts(plane.at(foot), foot)[0])
    from_there = plane.at(foot)
    _, stiff_there, bent_there = parts(from_there, foot)
    k = 0.5 * (stiff + stiff_there)
    return k, k * from_there[1] + sign * from_there[0] - 0.5 * h * (bent + bent_there)


def next_plane(plane, h, *, mach, radius, slope):
    """Return the plane ``h`` further aft, by four rounds of averaging."""
    values, shock = plane.values.copy(), plane.shock
    share = np.linspace(0.0, 1.0, plane.radius.size)
    for _ in range(4):
        outer = plane.radius[-1] + h * np.tan(0.5 * (plane.shock + shock))
        r = radius + share * (outer - radius)
        k1, c1 = along(plane, values, h, r, 1.0, mach=mach)
        k2, c2 = along(plane, values, h, r, -1.0, mach=mach)
        pressure = (c1 + c2) / (k1 + k2)
        angle = c1 - k1 * pressure
        pressure[0], angle[0] = (c2[0] + slope) / k2[0], slope

        def miss(guess, k=k1[-1], c=c1[-1]):
            jump = behind(mach, guess)
            return k * jump[0] + jump[1] - c

        shock = brentq(miss, plane.shock - 0.02, plane.shock + 0.02, xtol=1e-12)
        pressure[-1], angle[-1], at_shock = behind(mach, shock)
        foot = r - h * np.tan(angle)
        foot = r - 0.5 * h * (np.tan(angle) + np.tan(plane.at(foot)[0]))
        total = plane.at(foot)[2]
        total[0], total[-1] = plane.values[2, 0], at_shock
        values = np.array([angle, pressure, total])
    return Plane(plane.z + h, r, values, shock)


def surface_pressure(mach, *, radius, slope, start, end, count=31):
    """Return z and p/p1 along a body of ``radius(z)`` and ``slope(z)``, a cone up to ``start``."""
    plane = first_plane(mach, z=start, radius=radius(start), slope=slope(start), count=count)
    apex = start - radius(start) / np.tan(slope(start))
    found = [(start, plane.values[1, 0])]
    while plane.z < end - 1e-12:
        m = local_mach(*plane.values[1:], mach=mach)
        lean = np.arcsin(1.0 / m)
        fastest = np.max(np.tan(plane.values[0] + lean) - np.minimum(np.tan(plane.values[0] - lean), 0.0))
        h = min(0.7 * (plane.radius[1] - plane.radius[0]) / fastest, 0.02 * (plane.z - apex), end - plane.z)
        plane = next_plane(plane, h, mach=mach, radius=radius(plane.z + h), slope=slope(plane.z + h))
        found.append((plane.z, plane.values[1, 0]))
    return np.array(found).T
