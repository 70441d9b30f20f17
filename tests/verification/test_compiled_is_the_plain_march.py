"""The compiled batch does what the plain march does, to 1e-8, on the same steps, whoever shares its lanes.

A drying front rejects steps by the dozen and multiplies round-off on the way: there the plain march itself,
started one part in 1e15 warmer, is the measure of what round-off may do.
"""

from dataclasses import replace

import numpy as np
import pytest
from heat_cases import TIMES, apart, tip_case, tip_of

from optitip.errors import DesignFailure, Outcome
from optitip.geometry.topology import Resolution
from optitip.solvers.batch import LANES, compiled_march, march_batch
from optitip.solvers.march import march_together

TOPOLOGIES = {
    "as shipped": {},
    "an insert": {"tip.plug.insert": "20 mm", "tip.plug.material": "PTFE"},
    "a base of one piece": {"tip.base": {"thickness": "5 mm", "conductance": "0.6 W/K"}},  # nothing holds it
    "another metal in the base": {"tip.base.material": "304"},
    "a backing": {"sample.backing.material": "still air", "sample.backing.thickness": "2 mm"},
    "a captive ring": {"sample.joint.kind": "captive"},
    "everything": {
        "tip.plug.insert": "20 mm",
        "tip.plug.material": "glass-phenolic",
        "tip.base.material": "C360",
        "sample.slab.share": 0.5,
        "sample.backing.material": "PTFE",
        "sample.backing.thickness": "1 mm",
    },
}
MILD, HOT = {"strength": 0.4}, {"strength": 1.4, "walls": 7, "absorbed": 4.0}


def hold_to_plain(found, case):
    assert isinstance(found, tuple), found
    plain = march_together(case)
    distance = apart(found, plain)
    if distance > 1e-8:
        moved = [replace(case, start=case.start * (1.0 + part)) for part in (1e-15, -1e-15, 2e-15)]
        assert distance <= min(5.0 * max(apart(march_together(one), plain) for one in moved), 1e-5)


def batch_is_plain(cases):
    assert compiled_march() is not None
    results = march_batch(cases)
    for found, case in zip(results, cases, strict=True):
        hold_to_plain(found, case)
    return results


@pytest.mark.parametrize("name", TOPOLOGIES)
def test_every_topology_marches_as_in_the_plain_path(name):
    (pair,) = batch_is_plain([tip_case(TOPOLOGIES[name], surfaces=(MILD, HOT))])
    assert pair[1].rejected + pair[1].steps > 30


def test_a_slab_that_boils_and_dries_marches_as_in_the_plain_path():
    (pair,) = batch_is_plain([tip_case(surfaces=(MILD, HOT))])
    assert pair[0].latent[-1].sum() == 0.0
    assert pair[1].latent[-1].sum() > 10.0
    # it cooled again: what evaporated stayed away
    assert pair[1].temperature[-1].max() < pair[1].highest.max() - 50.0


def test_a_pocket_that_radiates_and_condenses_marches_as_in_the_plain_path():
    case = tip_case(surfaces=(HOT, {"strength": 2.0}, MILD), pocket=True, condensed=(0.0, 0.7, 1.0))
    (three,) = batch_is_plain([replace(case, end_time=8.0)])
    assert three[1].condensed[-1] > 1.0
    assert np.ptp(three[1].pocket) > 10.0


def test_a_frozen_slab_thaws_as_in_the_plain_path():
    nodes = tip_of({}).nodes_of("slab")
    case = tip_case(surfaces=(MILD, HOT))
    start = np.array(case.start)
    start[nodes] = 255.15
    (pair,) = batch_is_plain([replace(case, start=start, end_time=11.0)])
    assert pair[0].temperature[-1, nodes].min() < 273.15 < pair[1].temperature[-1, nodes].max()


def test_a_plug_that_decomposes_marches_as_in_the_plain_path_and_gives_no_vapour():
    insert = {"tip.plug.insert": "20 mm", "tip.plug.material": "glass-phenolic"}
    case = tip_case(insert, surfaces=(MILD, HOT), pocket=True, condensed=(1.0, 1.0))
    hotter = tuple(replace(one, recovery=1.9 * one.recovery) for one in case.surfaces)
    (pair,) = batch_is_plain([replace(case, surfaces=hotter, end_time=6.0)])
    plug, slab = pair[0].latent[-1, 0], pair[0].latent[-1, 1:].sum()
    assert min(plug, slab) > 1.0
    assert 0.5 * slab < pair[0].condensed[-1] < slab


def test_cases_of_unequal_length_come_and_go_through_the_lanes():
    surfaces = [MILD, HOT, {"walls": 1}, {"strength": 0.1, "emissivity": 0.0}, {"walls": 2, "strength": 3.0}]
    designs = [{"tip.band.thickness": f"{thick} mm"} for thick in (0.8, 1.0, 1.4, 2.0)]
    cases = [
        replace(
            tip_case(designs[number % 4], surfaces=(surfaces[number % 5],) * (1 + number % 3)),
            tolerance=(0.1, 0.02, 0.5)[number % 3],
            end_time=(30.0, 9.0)[number % 2],
        )
        for number in range(13)
    ]
    assert sum(len(case.models) for case in cases) > 2 * LANES
    results = batch_is_plain(cases)
    assert len({result[0].steps for result in results}) > 5


def test_as_many_states_as_lanes_march_together_and_more_march_alone():
    options = tuple({"strength": 0.1 + 0.05 * number, "walls": 2 + number} for number in range(LANES + 1))
    batch_is_plain([tip_case(surfaces=options[:LANES]), tip_case(surfaces=options)])


def test_two_topologies_in_one_batch_keep_their_order():
    batch_is_plain([tip_case(TOPOLOGIES[name]) for name in ("a backing", "as shipped", "a backing")])


def test_a_fine_grid_marches_as_in_the_plain_path():
    resolution = Resolution().refined(2)
    batch_is_plain([replace(tip_case(surfaces=(MILD,), resolution=resolution), end_time=8.0)])


def test_a_case_that_stalls_fails_alone_and_as_in_the_plain_path():
    good = tip_case(surfaces=(MILD, HOT))
    bad = replace(tip_case(surfaces=(MILD, {"strength": 1e300})), start_time=1.0)
    with pytest.raises(DesignFailure) as plain:
        march_together(bad)
    results = march_batch([good, bad, good])
    assert isinstance(results[1], DesignFailure)
    assert results[1].outcome is plain.value.outcome is Outcome.MARCH_STALLED
    assert results[1].detail == plain.value.detail
    hold_to_plain(results[0], good)
    hold_to_plain(results[2], good)


def test_no_lane_hears_of_another_that_overflows():
    good = tip_case(surfaces=(HOT,))
    wild = replace(tip_case(surfaces=({"strength": 1e300},)), start_time=1.0)
    alone = march_batch([good])[0]
    beside, _ = march_batch([good, wild])
    assert np.array_equal(beside[0].temperature, alone[0].temperature)
    assert beside[0].balance == alone[0].balance


def test_a_start_outside_the_tables_is_that_case_s_own_failure():
    good = tip_case()
    frozen_out = replace(good, start=np.full(good.start.size, 20.0))
    results = march_batch([frozen_out, good])
    assert results[0].outcome is Outcome.OUT_OF_RANGE
    hold_to_plain(results[1], good)


def test_a_long_record_outgrows_its_first_room():
    case = replace(tip_case(surfaces=(MILD,)), tolerance=2e-4, kinks=())
    (one,) = batch_is_plain([case])
    assert one[0].steps > 2 * 2 + 64


def test_a_fine_table_of_times_is_searched_both_ways():
    times = np.sort(np.concatenate([np.linspace(0.0, 30.0, 241), TIMES[1:-1] + 1e-3]))
    case = tip_case(surfaces=({"times": times, "walls": 40}, {"times": np.array([0.0])}))
    batch_is_plain([case, replace(case, start_time=3.0)])
