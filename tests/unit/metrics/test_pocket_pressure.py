import numpy as np
import pytest
from scipy.integrate import solve_ivp

from optitip.metrics.pocket_pressure import (
    Vent,
    orifice_flow,
    sealed_pressure,
    vented_pressure,
)
from optitip.properties.air import GAS_CONSTANT
from optitip.properties.water import vapour_pressure


def inside(
    time, *, area, outside=101325.0, temperature=300.0, vapour=0.0, start=None, volume=2e-5, discharge=1.0
):
    time = np.asarray(time, dtype=float)

    def rows(value):
        return np.broadcast_to(np.asarray(value, dtype=float), time.shape)[None]

    return vented_pressure(
        time,
        vent=Vent(volume=volume, area=area, discharge=discharge),
        outside=rows(outside),
        temperature=rows(temperature),
        outside_temperature=rows(300.0),
        vapour=rows(vapour),
        start_pressure=start,
    )[0]


def test_a_wet_pocket_shut_at_twenty_degrees_holds_air_and_steam_at_a_hundred():
    # by hand: 101325 x 373.15/293.15 + 101325; the vapour is 1 atm at 99.97 degC, so 0.1 % more
    hand = 101325.0 * 373.15 / 293.15 + 101325.0
    wet = sealed_pressure(373.15, shut_pressure=101325.0, shut_temperature=293.15, wet_temperature=373.15)
    assert float(wet) == pytest.approx(hand, rel=6e-4)


def test_the_coldest_face_gives_the_lower_bound():
    shut = {"shut_pressure": 101325.0, "shut_temperature": 293.15}
    low, high = (float(sealed_pressure(350.0, wet_temperature=face, **shut)) for face in (310.0, 370.0))
    assert high - low == pytest.approx(float(vapour_pressure(370.0) - vapour_pressure(310.0)))


def test_vapour_shut_in_is_not_counted_as_air():
    shut = {"shut_pressure": 101325.0, "shut_temperature": 293.15, "shut_vapour": 2339.0}
    assert float(sealed_pressure(293.15, wet_temperature=293.15, **shut)) == pytest.approx(101325.0, rel=1e-4)


def test_ice_holds_no_more_vapour_than_the_triple_point():
    dry = sealed_pressure([250.0], shut_pressure=1e5, shut_temperature=300.0)
    icy = sealed_pressure([250.0], shut_pressure=1e5, shut_temperature=300.0, wet_temperature=[250.0])
    assert float((icy - dry)[0]) == pytest.approx(611.2, abs=0.1)


def test_a_choked_hole_passes_the_textbook_flow_of_air():
    # 0.0404 p A/sqrt(T) in SI units, Cd 1; 0.040418 with R 287.0
    flow = orifice_flow(3e5, downstream=1e5, temperature=290.0, area=2e-6, discharge=1.0, gas_constant=287.0)
    assert float(flow) == pytest.approx(0.040418 * 3e5 * 2e-6 / np.sqrt(290.0), rel=2e-5)


def test_a_small_difference_drives_the_flow_of_bernoulli():
    flow = orifice_flow(101325.0, downstream=101225.0, temperature=300.0, area=1e-6, discharge=1.0)
    density = 101325.0 / (GAS_CONSTANT * 300.0)
    assert float(flow) == pytest.approx(1e-6 * np.sqrt(2.0 * density * 100.0), rel=1e-3)


def test_no_gas_flows_up_a_pressure():
    assert float(orifice_flow(1e5, downstream=1.2e5, temperature=300.0, area=1e-6)) == 0.0


def test_a_choked_vessel_empties_by_the_exponential():
    # p = p0 exp(-t/tau), tau = V/(A sqrt(R T) 0.684731), isothermal
    tau = 2e-5 / (1e-7 * np.sqrt(GAS_CONSTANT * 300.0) * 0.684731)
    time = np.linspace(0.0, 2.0 * tau, 41)
    found = inside(time, area=1e-7, outside=1.0, start=2e5)
    assert found == pytest.approx(2e5 * np.exp(-time / tau), rel=0.03)
    fine = inside(np.linspace(0.0, 2.0 * tau, 4001), area=1e-7, outside=1.0, start=2e5)[::100]
    assert fine == pytest.approx(2e5 * np.exp(-time / tau), rel=5e-4)


def test_an_empty_vessel_fills_straight_while_the_hole_is_choked():
    rate = 0.684731 * 1e-7 * 101325.0 * np.sqrt(GAS_CONSTANT * 300.0) / 2e-5
    end = 0.5 * 101325.0 / rate
    found = inside([0.0, 0.5 * end, end], area=1e-7, start=10.0)
    assert found[1:] - 10.0 == pytest.approx([0.25 * 101325.0, 0.5 * 101325.0], rel=2e-4)


def test_a_small_difference_outside_is_made_up_in_the_time_of_torricelli():
    # dp/dt = -(A/V) sqrt(2 R T p) sqrt(p - p_out): the excess is gone at t = 2 sqrt(excess)/k
    excess, end = 500.0, None
    k = 1e-7 / 2e-5 * np.sqrt(2.0 * GAS_CONSTANT * 300.0 * 101325.0)
    end = 2.0 * np.sqrt(excess) / k
    time = np.linspace(0.0, end, 2001)
    found = inside(time, area=1e-7, start=101325.0 + excess)
    assert found[1000] - 101325.0 == pytest.approx(excess / 4.0, rel=0.02)
    assert found[-1] - 101325.0 < 0.01 * excess


def test_a_wide_hole_holds_the_pocket_at_the_pressure_outside():
    time = np.linspace(0.0, 30.0, 61)
    outside = 101325.0 * np.exp(-time / 15.0)
    warm = np.linspace(293.0, 360.0, 61)
    found = inside(time, area=1e-4, outside=outside, temperature=warm, vapour=1e-6)
    assert found == pytest.approx(outside, rel=1e-4)


def test_no_hole_is_a_sealed_pocket():
    time, warm = np.linspace(0.0, 30.0, 61), np.linspace(293.0, 360.0, 61)
    found = inside(time, area=0.0, outside=101325.0 * np.exp(-time / 15.0), temperature=warm)
    shut = sealed_pressure(warm, shut_pressure=101325.0, shut_temperature=293.0)
    assert found == pytest.approx(shut, rel=1e-9)


def test_vapour_set_free_in_a_sealed_pocket_is_all_there():
    time = np.array([0.0, 1.0, 4.0])
    found = inside(time, area=0.0, vapour=[0.0, 2e-6, 0.0])
    mass = np.array([0.0, 1e-6, 4e-6])
    assert found - 101325.0 == pytest.approx(mass * 461.523 * 300.0 / 2e-5, rel=1e-4)


def test_steam_leaves_a_hole_as_fast_as_it_is_made_once_it_has_settled():
    # all air gone: m' = A p 0.684731/sqrt(R_v T), choked
    found = inside([0.0, 200.0], area=1e-6, outside=1000.0, vapour=1e-5)
    assert found[1] == pytest.approx(1e-5 * np.sqrt(461.523 * 300.0) / (1e-6 * 0.684731), rel=1e-3)


def test_a_steady_climb_leaves_the_lag_that_drives_the_flow():
    # outside falls by 1 % of p a second: the hole passes V/(R T) of that, p/p_out from the isentropic formula
    time = np.linspace(0.0, 20.0, 201)
    outside = 101325.0 * np.exp(-0.01 * time)
    found = inside(time, area=1e-8, outside=outside)
    passed = float(
        orifice_flow(found[-1], downstream=outside[-1], temperature=300.0, area=1e-8, discharge=1.0)
    )
    assert passed == pytest.approx(0.01 * found[-1] * 2e-5 / (GAS_CONSTANT * 300.0), rel=0.01)


def test_one_long_step_of_warming_is_cut_and_still_all_there():
    found = inside([0.0, 10.0], area=1e-15, temperature=[300.0, 600.0])
    assert found[1] == pytest.approx(2.0 * 101325.0, rel=1e-5)


@pytest.mark.parametrize(("start", "area"), [(2.5e5, 1e-7), (3e4, 1e-7), (1.2e5, 3e-8), (8e4, 3e-8)])
def test_a_pocket_that_warms_while_the_pressure_outside_falls_follows_the_equation(start, area):
    # the same balance with the isentropic formula, by an integrator of its own
    volume, end = 2e-5, 1.5

    def outside(t):
        return 101325.0 * np.exp(-0.2 * t)

    def warm(t):
        return 300.0 + 40.0 * t

    def slope(t, state):
        p = state[0] * warm(t)  # state: p/T
        out = orifice_flow(p, downstream=outside(t), temperature=warm(t), area=area, discharge=1.0)
        into = orifice_flow(outside(t), downstream=p, temperature=300.0, area=area, discharge=1.0)
        return [float(into - out) * GAS_CONSTANT / volume]

    time = np.linspace(0.0, end, 31)
    exact = solve_ivp(slope, (0.0, end), [start / 300.0], t_eval=time, rtol=1e-8, atol=1e-8, max_step=0.01)
    found = inside(time, area=area, outside=outside(time), temperature=warm(time), start=start)
    assert found == pytest.approx(exact.y[0] * warm(time), rel=0.01)


@pytest.mark.parametrize("span", [1e-3, 1.0, 1e4])
def test_a_step_of_any_length_ends_between_where_it_began_and_the_pressure_outside(span):
    for start in (1e3, 9e4, 2e5, 1e7):
        end = inside([0.0, span], area=1e-6, start=start)[1]
        assert min(start, 101325.0) <= end <= max(start, 101325.0)


def test_a_pocket_open_to_nothing_stays_above_nothing():
    found = inside(np.linspace(0.0, 1e3, 11), area=1e-6, outside=0.0, start=1e5)
    assert np.all(np.isfinite(found))
    assert found[-1] < 1.0


def test_each_case_stands_alone():
    time, still = np.array([0.0, 5.0]), np.full((2, 2), 300.0)
    both = vented_pressure(
        time,
        vent=Vent(volume=2e-5, area=1e-8),
        outside=np.array([[1e5, 1e5], [1e5, 5e4]]),
        temperature=still,
        outside_temperature=still,
        vapour=np.zeros((2, 2)),
    )
    assert both[0].tolist() == [1e5, 1e5]
    assert both[1, 1] < 1e5
