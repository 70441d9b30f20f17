import numpy as np

from optitip.metrics.instants import TOGETHER, Instant, pick_instants


def test_instants_come_in_the_order_of_time():
    time = np.linspace(0.0, 10.0, 11)
    picked = pick_instants(
        time,
        moments={"burnout": 4.2},
        peaks={"hottest metal": -((time - 7.0) ** 2), "highest dynamic pressure": -((time - 3.0) ** 2)},
    )
    assert picked == (
        Instant(time=3.0, names=("highest dynamic pressure",)),
        Instant(time=4.2, names=("burnout",)),
        Instant(time=7.0, names=("hottest metal",)),
    )


def test_instants_that_coincide_are_one_with_both_names():
    time = np.array([0.0, 1.0, 2.0])
    hot = np.array([0.0, 5.0, 5.0])
    close = pick_instants(time, moments={"burnout": 1.0 - 0.9 * TOGETHER}, peaks={"hottest metal": hot})
    assert [one.name for one in close] == ["burnout, hottest metal"]
    apart = pick_instants(time, moments={"burnout": 1.0 - 1.1 * TOGETHER}, peaks={"hottest metal": hot})
    assert [one.name for one in apart] == ["burnout", "hottest metal"]


def test_a_moment_beyond_the_times_is_held_at_their_end():
    picked = pick_instants(np.array([0.0, 1.0]), moments={"landing": 9.0}, peaks={})
    assert picked == (Instant(time=1.0, names=("landing",)),)
