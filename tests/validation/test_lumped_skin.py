"""A 1 mm skin of 304 on a 10 degree cone held at Mach 3 at 10 km: the whole chain against one small equation.

Source: Eckert 1955, J. Aero. Sci. 22, 585 (reference enthalpy; laminar 0.332 Re*^-1/2 with Mangler's sqrt 3,
turbulent 0.0296 Re*^-1/5 with (9/4)^1/5, recovery factors Pr^1/2 and Pr^1/3) on the cone's edge by Taylor &
Maccoll 1933 (Sims 1964: Mc 2.71012, pc/p1 1.55113, Tc/T1 1.13408); Sutherland's viscosity and the air of
10 km from the US Standard Atmosphere 1976; enthalpy of dry air from CoolProp (Lemmon et al. 2000); specific
heat and conductivity of 304 from EN 1993-1-2, annex C. Written out here and solved by scipy as dT/dt = q/C,
with the film at the surface, q s/(3 k) above the mean of a skin of thickness s. Nothing radiates.
Tolerance: 0.3 % of the rise in the skin's mean temperature.
"""

import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from optitip.flight.trajectory import Flight, Phase
from optitip.heating.chain import heat_states
from optitip.inputs.study_tables import Attitude
from optitip.properties.materials import load_material
from optitip.solvers.assembly import assemble
from optitip.solvers.body import Surface
from optitip.solvers.march import march

HALF_ANGLE = np.radians(10.0)
AIR_TEMPERATURE, AIR_PRESSURE, SPEED = 223.252, 26499.9, 3.0 * 299.532
START, SKIN, STATION = 288.15, 1e-3, 0.3
TIMES = {"laminar": [5.0, 15.0, 40.0, 90.0], "turbulent": [1.0, 3.0, 8.0, 20.0]}
R, PRANDTL = 8314.32 / 28.9644, 0.71


def air_enthalpy(temperature):
    return PropsSI("H", "T", temperature, "P", 100.0, "Air")


def air_temperature(enthalpy):
    return brentq(lambda t: air_enthalpy(t) - enthalpy, 150.0, 1000.0)


def flux_into(wall, flow):
    """Return q [W/m2] at the station by Eckert's reference enthalpy."""
    edge_temperature, edge_pressure = 1.13408 * AIR_TEMPERATURE, 1.55113 * AIR_PRESSURE
    he, hw = air_enthalpy(edge_temperature), air_enthalpy(wall)
    dynamic = air_enthalpy(AIR_TEMPERATURE) + 0.5 * SPEED**2 - he
    recovery = he + PRANDTL ** (0.5 if flow == "laminar" else 1.0 / 3.0) * dynamic
    reference = air_temperature(0.5 * (he + hw) + 0.22 * (recovery - he))
    density = edge_pressure / (R * reference)
    speed = np.sqrt(2.0 * dynamic)
    reynolds = density * speed * STATION / (1.458e-6 * reference**1.5 / (reference + 110.4))
    if flow == "laminar":
        friction = np.sqrt(3.0) * 0.332 * reynolds**-0.5
    else:
        friction = (9.0 / 4.0) ** 0.2 * 0.0296 * reynolds**-0.2
    return density * speed * friction * PRANDTL ** (-2.0 / 3.0) * (recovery - hw)


def warming(_, mean, flow):
    """Return dT/dt of the skin's mean temperature [K/s]."""
    celsius = mean[0] - 273.15
    heat_capacity = 7900.0 * (450.0 + 0.280 * celsius - 2.91e-4 * celsius**2 + 1.34e-7 * celsius**3)
    conductivity = 14.6 + 0.0127 * celsius
    flux = flux_into(mean[0], flow)
    for _ in range(4):
        flux = flux_into(mean[0] + flux * SKIN / (3.0 * conductivity), flow)
    # the skin is a little smaller inside than outside
    depth = SKIN * (1.0 - 0.5 * SKIN / (STATION * np.tan(HALF_ANGLE)))
    return [flux / (heat_capacity * depth)]


@pytest.fixture
def skin(lattice_body):
    """Return the skin from 0.2 to 0.4 m along the cone, its outer nodes, and those across it at 0.3 m."""
    s = np.linspace(0.2, 0.4, 41)[:, None]
    depth = SKIN * np.linspace(0.0, 1.0, 5)
    r = s * np.sin(HALF_ANGLE) - depth * np.cos(HALF_ANGLE)
    z = s * np.cos(HALF_ANGLE) + depth * np.sin(HALF_ANGLE)
    body, node = lattice_body(np.stack([r, z], axis=-1), material=load_material("304"))
    return body, node[:, 0], node[20]


def chain(flow):
    """Return the chain's heating of the cone, all but sharp, through 100 s of steady flight."""
    steady = np.ones(2)
    flight = Flight(
        time=[0.0, 100.0],
        altitude=10000.0 * steady,
        speed=SPEED * steady,
        temperature=AIR_TEMPERATURE * steady,
        pressure=AIR_PRESSURE * steady,
        density=0.413510 * steady,
        axial_acceleration=0.0 * steady,
        phase=[Phase.COAST] * 2,
        events={},
        kinks=(),
        attitude=Attitude.ACROSS,
        warnings=(),
    )
    s = np.linspace(0.0, 0.4, 161)
    return heat_states(
        flight,
        arc_length=s,
        radius=s * np.sin(HALF_ANGLE),
        slope=np.full(s.size, HALF_ANGLE),
        tip_radius=1e-9,
    )[flow]


@pytest.mark.parametrize("flow", TIMES)
def test_the_skin_warms_as_the_one_equation_says(flow, skin, edge_areas):
    body, outer, across = skin
    heating = chain(flow)
    there = np.searchsorted(heating.arc_length, np.linspace(0.2, 0.4, 41) - 1e-9)
    surface = Surface(
        nodes=outer,
        area=edge_areas(body.points, nodes=outer),
        time=heating.time,
        wall=heating.wall,
        film=heating.film[:, there],
        recovery=heating.recovery[:, there],
        emissivity=np.zeros(outer.size),
        surroundings=heating.surroundings,
    )
    times = np.array(TIMES[flow])
    history = march(assemble(body), surface=surface, start=START, end_time=times[-1])
    marched = history.temperature_at(times, nodes=across) @ (np.array([0.5, 1.0, 1.0, 1.0, 0.5]) / 4.0)
    lumped = solve_ivp(
        warming, (0.0, times[-1]), [START], args=(flow,), t_eval=times, rtol=1e-6, atol=1e-4
    ).y[0]
    assert lumped[-1] - lumped[0] > 60.0
    assert marched - START == pytest.approx(lumped - START, rel=3e-3)
