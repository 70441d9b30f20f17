"""Walls, joints and heatings at the ends of their ranges, against scipy on scikit-fem's matrices or formulas.

Tolerances: 0.1 % of the heat taken up and 0.25 K; where a formula is in continuous space, 0.3 % and 0.3 K.
Noise at every row: 0.6 K and 0.24 % at an instant, as a march lands on 200 of its 1,201 rows. An
opening captive joint: 0.5 K, 0.2 %, as its block in the matrix is the symmetric mean of two unlike slopes.
"""

from dataclasses import replace

import numpy as np
import pytest
from by_solve_ivp import SIGMA, Outside, Plain, temperatures
from scipy.optimize import brentq
from scipy.special import erfc, erfcx

from optitip.heating.knots import bends
from optitip.solvers.assembly import assemble
from optitip.solvers.body import Sink
from optitip.solvers.march import march

METAL, STEEL, FOOD = (
    Plain(conductivity=167.0, heat_capacity=2.42e6),
    Plain(conductivity=15.0, heat_capacity=3.9e6),
    Plain(conductivity=0.5, heat_capacity=3.9e6),
)
COPPER = Plain(conductivity=388.0, heat_capacity=3.4e6)
STEEP = Plain(conductivity=10.0, heat_capacity=2.5e6, rise=19.0 / 500.0)  # 10 at 300 K, 200 at 800 K
FOIL = Plain(conductivity=0.25, heat_capacity=1.5e6)
THIN, SLAB = (1.2e-3, 4, METAL), (3e-3, 14, FOOD)
BURN = ([0.0, 1.0, 4.0, 9.0, 30.0], [0.0, 900.0, 1500.0, 200.0, 40.0], [300.0, 450.0, 750.0, 420.0, 250.0])
STEADY = ([0.0], [800.0], [600.0])
PULSES = (
    [0.0, 5.0, 5.01, 5.11, 5.12, 12.0, 12.02, 14.0, 14.02, 30.0],
    [20.0, 20.0, 9000.0, 9000.0, 20.0, 20.0, 2000.0, 2000.0, 5.0, 5.0],
    [300.0, 300.0, 1200.0, 1200.0, 300.0, 300.0, 700.0, 700.0, 280.0, 280.0],
)
REST = ([0.0, 20.0, 20.001, 30.0], [0.0, 0.0, 1500.0, 1500.0], [300.0, 300.0, 700.0, 700.0])


def noisy(seconds=60.0, rows=1201):
    """Return 20 Hz of noise on a burn and a coast, row by row: no two neighbours are alike."""
    draw, time = np.random.default_rng(5), np.linspace(0.0, seconds, rows)
    film = np.interp(time, *BURN[:2]) * (1.0 + 0.15 * draw.standard_normal(rows))
    return time, np.maximum(film, 0.0), np.interp(time, BURN[0], BURN[2]) + 15.0 * draw.standard_normal(rows)


# layers (thickness [m], cells, material), joints [W/(m2 K)], heating (time, film, recovery), how long [s]
CASES = {
    "a wall of 0.3 mm": ([(0.3e-3, 3, METAL), SLAB], [400.0], BURN, 30.0),
    "a wall of 12 mm": ([(12e-3, 12, METAL), SLAB], [400.0], BURN, 30.0),
    "a wall of 12 mm of steel": ([(12e-3, 30, STEEL), SLAB], [400.0], BURN, 30.0),
    "a joint of 50": ([THIN, SLAB], [50.0], BURN, 30.0),
    "a joint of 1e8": ([THIN, SLAB], [1e8], BURN, 30.0),
    "20 to 1 between neighbours": ([(1e-3, 6, COPPER), (2e-3, 8, STEEL), SLAB], [1e8] * 2, BURN, 30.0),
    "20 to 1 the other way": ([(2e-3, 12, STEEL), (1e-3, 6, COPPER), SLAB], [1e8, 400.0], BURN, 30.0),
    "20 to 1 along a table": ([(4e-3, 40, STEEP), SLAB], [400.0], BURN, 30.0),
    "a paint as a layer": ([(0.1e-3, 6, FOIL), (1e-3, 4, METAL), SLAB], [1e8, 400.0], BURN, 30.0),
    "steps and pulses": ([THIN, SLAB], [400.0], PULSES, 30.0),
    "at rest, then full strength": ([THIN, SLAB], [400.0], REST, 30.0),
    "full strength from the start": ([THIN, SLAB], [400.0], STEADY, 30.0),
    "0.05 s": ([(0.3e-3, 6, METAL), (1e-3, 20, FOOD)], [5000.0], ([0.0], [8000.0], [900.0]), 0.05),
    "three hours": ([(1.2e-3, 4, METAL), (12e-3, 14, FOOD)], [400.0], ([0.0], [15.0], [360.0]), 10_800.0),
    "noise of 20 Hz in 1,201 rows": ([THIN, SLAB], [400.0], noisy(), 60.0),
}  # fmt: skip


def graded(start, thickness, cells):
    """Return the stations of a layer, its cells growing from both faces."""
    u = np.linspace(0.0, 1.0, cells + 1)
    return start + thickness * (u - 0.12 * np.sin(2.0 * np.pi * u))


@pytest.fixture
def stack(column, solid):
    """Return the maker of layers ``(thickness, cells, plain)`` on one another, joined."""

    def make(layers, joints, **options):
        start, parts = 0.0, []
        for thickness, cells, plain in layers:
            law = plain.conductivity
            if plain.rise:
                law = lambda t, p=plain: p.conductivity * np.maximum(1.0 + p.rise * (t - 300.0), 0.05)  # noqa: E731
            parts.append((graded(start, thickness, cells), solid(law, heat_capacity=plain.heat_capacity)))
            start += thickness
        return column(*parts, joints=joints, **options)

    return make


def outside_of(pile, heating, **options):
    time, film, recovery = heating
    return Outside(
        nodes=pile.near,
        area=pile.area,
        film=lambda t: np.interp(t, time, film),
        recovery=lambda t: np.interp(t, time, recovery),
        **options,
    )


def knots(heating):
    """Return the instants a march lands on, as the package picks them of a long table."""
    time, *courses = (np.asarray(one, dtype=float) for one in heating)
    if time.size <= 200:
        return time
    values = np.stack(courses, axis=1)
    return time[bends(time, values / np.ptp(values, axis=0))]


def held_to(history, pile, *, expected, capacity, at, end, within=0.25):
    """Hold a march to the temperatures of the second opinion, and to the heat each layer took up."""
    every = np.arange(capacity.size)
    found = history.temperature_at(at, nodes=every)
    assert np.abs(found - expected).max() < within
    layer = np.searchsorted([one[0] for one in pile.layers], every, side="right") - 1
    of_layer = layer == np.arange(len(pile.layers))[:, None]
    taken = (expected - 300.0) * capacity @ of_layer.T
    assert history.sensible[-1] == pytest.approx(taken[-1], abs=0.004 * within * np.abs(taken).max())
    assert abs(history.closure) < 1e-10
    assert history.time[-1] == end


@pytest.mark.parametrize("name", CASES)
def test_layers_under_a_film_warm_as_scipy_says(name, stack, surface):
    layers, joints, heating, end = CASES[name]
    pile, plains = stack(layers, joints), [one[2] for one in layers]
    at = end * np.array([0.07, 0.2, 0.45, 0.7, 1.0])
    hot = surface(pile.near, area=pile.area, film=heating[1], recovery=heating[2], time=heating[0])
    history = march(pile.model, surface=hot, start=300.0, end_time=end, kinks=knots(heating))
    rows = len(heating[0])
    expected, capacity = temperatures(
        pile.body,
        plains,
        outside=outside_of(pile, heating),
        start=np.full(pile.model.volume.size, 300.0),
        at=at,
        kinks=heating[0] if rows < 50 else (),
        most=np.inf if rows < 50 else np.diff(heating[0]).min(),
    )
    within = 0.25 if rows < 50 else 0.6
    held_to(history, pile, expected=expected, capacity=capacity, at=at, end=end, within=within)


@pytest.mark.parametrize(
    ("share", "conductance"), [(0.02, 400.0), (0.3, 400.0), (0.3, 1e8)], ids=["narrow", "wide", "bonded"]
)
def test_a_strip_is_a_share_of_the_slab_and_of_its_joint(share, conductance, stack, surface):
    layers = [THIN, SLAB]
    pile = stack(layers, [conductance])
    [joint] = pile.body.joints
    body = replace(
        pile.body,
        cell_weight=np.where(pile.body.cell_material == 1, share, 1.0),
        joints=(replace(joint, area=share * joint.area),),
    )
    at = np.array([2.0, 6.0, 15.0, 30.0])
    hot = surface(pile.near, area=pile.area, film=BURN[1], recovery=BURN[2], time=BURN[0])
    history = march(assemble(body), surface=hot, start=300.0, end_time=30.0, kinks=BURN[0])
    expected, capacity = temperatures(
        body,
        [METAL, FOOD],
        outside=outside_of(pile, BURN),
        start=np.full(len(body.points), 300.0),
        at=at,
        kinks=BURN[0],
    )
    held_to(history, pile, expected=expected, capacity=capacity, at=at, end=30.0)


GOES_AND_COMES = (
    [0.0, 0.5, 8.0, 8.5, 40.0],
    [50.0, 2500.0, 2500.0, 800.0, 800.0],
    [300.0, 800.0, 800.0, 230.0, 230.0],
)


@pytest.mark.parametrize("conductance", [50.0, 1e4, 1e7])
@pytest.mark.parametrize("growth", [1e-8, 7e-7])
def test_a_captive_joint_opens_and_closes_again(conductance, growth, stack, surface):
    """gap = growth (T - 300 K): 7e-7 m/K is brass at r 34 mm; the wall then falls below where it began."""
    layers = [(1.5e-3, 5, METAL), SLAB]
    pile = stack(layers, [conductance], gap_rate=growth, gap_reference=300.0)
    at = np.array([1.0, 4.0, 8.0, 12.0, 20.0, 40.0])
    time, film, recovery = GOES_AND_COMES
    hot = surface(pile.near, area=pile.area, film=film, recovery=recovery, time=time)
    history = march(pile.model, surface=hot, start=300.0, end_time=40.0, kinks=(*time, *at))
    expected, capacity = temperatures(
        pile.body,
        [METAL, FOOD],
        outside=outside_of(pile, GOES_AND_COMES),
        start=np.full(pile.model.volume.size, 300.0),
        at=at,
        kinks=time,
    )
    assert expected[2].max() > 450.0
    assert expected[-1].min() < 290.0
    held_to(history, pile, expected=expected, capacity=capacity, at=at, end=40.0, within=0.5)
    assert history.steps + history.rejected < 250


@pytest.mark.parametrize("biot", [0.001, 0.01, 0.1, 1.0, 10.0, 50.0])
def test_a_plate_of_any_biot_number_warms_as_the_series_says(biot, stack, surface):
    """(Tr - T)/(Tr - T0) = sum of C_n exp(-zeta_n^2 Fo) cos(zeta_n x/L); heat: C_n sin(zeta_n)/zeta_n."""
    k, c, half = 15.0, 3.9e6, 10e-3
    film, settling = biot * k / half, half**2 * c / k
    roots = np.array(
        [brentq(lambda z: z * np.sin(z) - biot * np.cos(z), n * np.pi, (n + 0.5) * np.pi) for n in range(60)]
    )
    weight = 4.0 * np.sin(roots) / (2.0 * roots + np.sin(2.0 * roots))
    fourier = np.array([0.02, 0.1, 0.5, 1.5]) * (1.0 + 1.0 / biot)
    fade = weight * np.exp(-np.outer(fourier, roots**2))
    pile = stack([(half, 40, STEEL)], [])
    hot = surface(pile.near, area=pile.area, film=film, recovery=700.0)
    end = float(fourier[-1] * settling)
    history = march(pile.model, surface=hot, start=300.0, end_time=end, kinks=fourier * settling)
    at = history.temperature_at(fourier * settling, nodes=[pile.near[0], pile.far[0]])
    face, back = 700.0 - 400.0 * fade @ np.cos(roots), 700.0 - 400.0 * fade.sum(axis=1)
    assert at[:, 0] == pytest.approx(face, abs=0.3)
    assert at[:, 1] == pytest.approx(back, abs=0.3)
    heat = c * half * 400.0 * (1.0 - fade @ (np.sin(roots) / roots))
    rows = np.searchsorted(history.time, fourier * settling)
    assert history.heat_in[rows] == pytest.approx(heat, rel=3e-3)


def test_a_film_at_full_strength_from_nothing_warms_a_half_space_from_its_first_hundredth_second(
    stack, surface
):
    """(T - T0)/(Tr - T0) = 1 - exp(b^2) erfc(b), b = h sqrt(a t)/k, at the face; heat by its integral."""
    film, a = 5000.0, METAL.conductivity / METAL.heat_capacity
    pile = stack([(60e-3, 200, METAL)], [])
    hot = surface(pile.near, area=pile.area, film=film, recovery=1000.0)
    at = np.array([0.01, 0.1, 1.0, 5.0])
    history = march(pile.model, surface=hot, start=300.0, end_time=5.0, kinks=at)
    b = film * np.sqrt(a * at) / METAL.conductivity
    face = history.temperature_at(at, nodes=pile.near)[:, 0]
    assert face == pytest.approx(300.0 + 700.0 * (1.0 - erfcx(b)), abs=0.3)
    depth = 60e-3 / (2.0 * np.sqrt(a * 5.0))
    assert erfc(depth) < 0.04  # the far end is hardly reached: its share of the heat is smaller still
    taken = 700.0 * METAL.conductivity**2 / (film * a) * (erfcx(b) - 1.0 + 2.0 * b / np.sqrt(np.pi))
    rows = np.searchsorted(history.time, at)
    assert history.heat_in[rows] == pytest.approx(taken, rel=3e-3)


def test_a_thin_wall_that_only_radiates_cools_by_the_inverse_cube(stack, surface):
    """1/T^3 = 1/T0^3 + 3 epsilon sigma t/(c d), into surroundings of next to nothing."""
    pile = stack([(0.3e-3, 3, COPPER)], [])
    dark = surface(pile.near, area=pile.area, emissivity=0.8, surroundings=1.0)
    at = np.array([1.0, 10.0, 100.0, 1000.0])
    history = march(pile.model, surface=dark, start=1200.0, end_time=1000.0, kinks=at)
    per_second = 3.0 * 0.8 * SIGMA / (COPPER.heat_capacity * 0.3e-3)
    expected = (1200.0**-3 + per_second * at) ** (-1.0 / 3.0)
    assert history.temperature_at(at, nodes=pile.far)[:, 0] == pytest.approx(expected, abs=0.25)
    assert history.convected[-1] == 0.0
    given = COPPER.heat_capacity * 0.3e-3 * (expected[-1] - 1200.0)
    assert history.radiated[-1] == pytest.approx(given, rel=1e-3)


@pytest.mark.parametrize("seconds", [0.05, 30.0, 10_800.0])
def test_no_heating_leaves_everything_as_it_is(seconds, stack, surface):
    pile = stack([(1e-3, 4, METAL), SLAB], [1e8])
    still = surface(pile.near, area=pile.area, film=0.0, recovery=900.0)
    history = march(pile.model, surface=still, start=300.0, end_time=seconds)
    assert history.temperature == pytest.approx(300.0, abs=1e-6)
    assert history.heat_in.tolist() == [0.0] * history.time.size


def test_a_table_of_one_row_is_the_same_as_two_alike(stack, surface):
    pile = stack([(1e-3, 4, METAL), SLAB], [400.0])
    given = {"area": pile.area, "film": 800.0, "recovery": 600.0}
    one, two = (
        march(pile.model, surface=surface(pile.near, **given, time=time), start=300.0, end_time=20.0)
        for time in ([0.0], [0.0, 20.0])
    )
    assert np.array_equal(one.temperature, two.temperature)
    assert one.temperature.max() > 450.0


@pytest.mark.parametrize("conductance", [1e-3, 1.0, 1e4])
def test_a_sink_of_any_strength_takes_what_the_wall_takes_up(conductance, stack, surface):
    layers = [(5e-3, 20, METAL)]
    pile = stack(layers, [])
    sink = Sink(nodes=pile.far, conductance=conductance * pile.area, temperature=280.0)
    at = np.array([2.0, 9.0, 30.0, 600.0])
    hot = surface(pile.near, area=pile.area, film=BURN[1], recovery=BURN[2], time=BURN[0])
    history = march(pile.model, surface=hot, sinks=[sink], start=300.0, end_time=600.0, kinks=BURN[0])
    expected, capacity = temperatures(
        pile.body,
        [METAL],
        outside=outside_of(pile, BURN),
        start=np.full(pile.model.volume.size, 300.0),
        at=at,
        kinks=BURN[0],
        sinks=[sink],
    )
    held_to(history, pile, expected=expected, capacity=capacity, at=at, end=600.0)
    stored = float(capacity @ (expected[-1] - 300.0))
    assert history.heat_in[-1] == pytest.approx(stored, abs=1e-3 * np.abs(history.convected).max())


@pytest.mark.parametrize("latent", [1e8, 1.6e9])
def test_a_face_that_dries_out_takes_its_heat_whatever_the_steps(latent, column, solid, surface):
    """Boiling at 373 K behind a thin wall: 1 % of energy and 0.5 K against steps 64 times as tight."""
    wet = solid(0.6, heat_capacity=3.9e6, boiling=373.15, latent_heat=latent)
    pile = column(
        (np.linspace(0.0, 1e-3, 5), solid(167.0, heat_capacity=2.42e6)),
        (1e-3 + graded(0.0, 2e-3, 24), wet),
        joints=[5000.0],
    )
    hot = surface(pile.near, area=pile.area, film=BURN[1], recovery=BURN[2], time=BURN[0])
    given = {"surface": hot, "start": 300.0, "end_time": 30.0, "kinks": BURN[0]}
    rough, fine = march(pile.model, **given), march(pile.model, **given, tolerance=0.1 / 64.0)
    assert fine.latent[-1].sum() > 0.03 * fine.sensible[-1].sum()
    assert rough.sensible[:, 1].max() == pytest.approx(fine.sensible[:, 1].max(), rel=0.01)
    assert rough.latent[-1, 1] == pytest.approx(fine.latent[-1, 1], rel=0.01)
    for read in (np.min, np.mean, np.max):  # a node at the front itself is wet or dry by part of a cell
        assert read(rough.highest[pile.layers[1]]) == pytest.approx(
            read(fine.highest[pile.layers[1]]), abs=0.5
        )
