"""A point-mass ascent from thrust curve, masses and drag table, up to the apogee and down to the ground."""

import math

from optitip.errors import Mistake
from optitip.flight.atmosphere import Atmosphere
from optitip.flight.climb import climb
from optitip.flight.descent import DescentPlan, fall
from optitip.flight.timeline import Path, assemble, check_waits, join, refuse
from optitip.flight.trajectory import Flight
from optitip.flight.vehicle import Vehicle


def from_ascent(
    vehicle: Vehicle,
    *,
    atmosphere: Atmosphere,
    rail_angle: float = math.radians(86.0),
    rail_length: float = 3.0,
    descent: DescentPlan | None = None,
    pad: float = 0.0,
    soak: float = 600.0,
    place: str = "flight.ascent",
) -> Flight:
    """Return the flight of ``vehicle`` from the site of ``atmosphere`` to the end of the soak.

    m dV/dt = (T - D) V/|V| - m g(z) e_z, D = Cd(M) rho V^2 A/2, in a vertical plane; on the rail, of
    ``rail_length`` [m] at ``rail_angle`` [rad] above the horizon, along the rail alone. Thrust acts along the
    speed (the vehicle weathercocks at once; no wind), and is the curve's own at all altitudes.
    m = m0 - m_p I(t)/I(end), I the impulse delivered. ``descent`` from the apogee (left out: the plan's own
    defaults), ``pad`` and ``soak`` [s] of waiting before and after. Burnout is the thrust curve's end.

    Valid to Mach 5 and 80 km; outside, ``OutOfRange``. A vehicle that doesn't lift off, leave the rail or
    burn out before its apogee is a mistake. Source: Newton's second law; the mass rule is common practice.

    >>> from optitip.flight.atmosphere import site_atmosphere
    >>> vehicle = Vehicle(thrust_time=[0.0, 2.0], thrust=[600.0, 600.0], start_mass=6.0, propellant_mass=0.6,
    ...     diameter=0.08, drag_mach=[0.0, 1.0], drag_coefficient=[0.0, 0.0])
    >>> flight = from_ascent(vehicle, atmosphere=site_atmosphere(), rail_angle=math.pi / 2)
    >>> print(f"{flight.speed.max():.1f} m/s")  # 1200/0.6 ln(6/5.4) - 9.80665 2 = 210.7 - 19.6
    191.1 m/s
    """
    plan = descent if descent is not None else DescentPlan()
    mistakes = vehicle.mistakes(place) + plan.mistakes() + check_waits(pad, soak)
    if not math.radians(30.0) <= rail_angle <= 0.5 * math.pi + 1e-9:
        problem = f"the rail stands {math.degrees(rail_angle):.1f} deg above the horizon"
        mistakes.append(Mistake(f"{place}.rail_angle", problem, "Give 30 to 90 deg"))
    if not 0.1 <= rail_length <= 100.0:
        problem = f"a rail {rail_length:g} m long"
        mistakes.append(Mistake(f"{place}.rail_length", problem, "Give 0.1 to 100 m"))
    refuse(mistakes)
    up = climb(vehicle, atmosphere=atmosphere, rail_angle=rail_angle, rail_length=rail_length, place=place)
    apogee, (_, z, u, w) = float(up.path.time[-1]), up.state
    down = fall(plan, atmosphere=atmosphere, time=apogee, altitude=z, velocity=(u, w))
    return assemble(
        join([up.path, down.path]),
        atmosphere=atmosphere,
        attitude=plan.attitude,
        rail_angle=rail_angle,
        events={"burnout": up.burnout, "apogee": apogee, "main": down.main, "landing": down.landing},
        pad=pad,
        soak=soak,
        warnings=_beyond_drag_table(up.path, vehicle, atmosphere),
    )


def _beyond_drag_table(path: Path, vehicle: Vehicle, atmosphere: Atmosphere) -> list[str]:
    fastest = float((path.speed / atmosphere.at(path.altitude).sound_speed).max())
    last = float(vehicle.drag_mach[-1])
    if fastest <= last + 0.05:
        return []
    return [f"the drag table ends at Mach {last:.2f}; its last value was held up to Mach {fastest:.2f}"]
