import numpy as np

from optitip.metrics.instants import Instant, pick_instants


def test_instants_come_in_the_order_of_time():
    time = np.linspace(0.0, 10.0, 11)
    picked = pick_instants(
        time,
        moments={"burnout": 4.2},
        peaks={"hottest metal": -((time - 7.0) ** 2), "highest dynamic pressure": -((time - 3.0) ** 2)},
    )
    assert picked == (
        Instant(name="highest dynamic pressure", index=3),
        Instant(name="burnout", index=4),
        Instant(name="hottest metal", index=7),
    )


def test_instants_that_coincide_are_one_with_both_names():
    time = np.array([0.0, 1.0, 2.0])
    picked = pick_instants(time, moments={"burnout": 0.9}, peaks={"hottest metal": np.array([0.0, 5.0, 5.0])})
    assert picked == (Instant(name="burnout, hottest metal", index=1),)
