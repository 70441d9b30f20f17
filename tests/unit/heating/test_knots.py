"""Where a march must land: all of a coarse heating, the bends of a fine one."""

import numpy as np
import pytest

from optitip.heating.knots import MOST_KNOTS, bends, knots_of
from optitip.heating.table import Heating

FINE = np.linspace(0.0, 600.0, 1201)


def heating(time, level, *, key="film"):
    shape = (time.size, 3)
    parts = {
        "film": np.full((*shape, 1), 9.0),
        "recovery": np.full(shape, 300.0),
        "absorbed": np.zeros(shape),
    }
    parts["surroundings"] = np.full(time.size, 290.0)
    grown = 1.0 + 5.0 * level
    parts[key] = parts[key] + (
        grown if parts[key].ndim == 1 else grown.reshape(-1, *[1] * (parts[key].ndim - 1))
    )
    return Heating(
        time=time,
        arc_length=[0.0, 0.1, 0.2],
        wall=[288.15],
        pressure=np.full(shape, 1e5),
        reynolds=np.zeros(shape),
        turbulent=np.zeros(shape),
        name="",
        warnings=(),
        **parts,
    )


def test_all_times_of_a_coarse_heating_are_knots():
    time = np.linspace(0.0, 60.0, MOST_KNOTS)
    assert knots_of(heating(time, np.zeros(time.size))) == tuple(time.tolist())


@pytest.mark.parametrize("key", ["film", "recovery", "absorbed", "surroundings"])
def test_a_pulse_in_a_fine_heating_has_knots_at_its_corners_and_few_others(key):
    pulse = np.interp(FINE, [300.0, 300.5, 320.0, 320.5], [0.0, 1.0, 1.0, 0.0])
    assert knots_of(heating(FINE, pulse, key=key)) == (0.0, 300.0, 300.5, 320.0, 320.5, 600.0)


def test_straight_lines_between_the_knots_stay_close_and_there_are_never_too_many():
    wavy = np.sin(FINE / 25.0) * np.exp(-FINE / 300.0)
    kept = bends(FINE, wavy[:, None])
    line = np.interp(FINE, FINE[kept], wavy[kept])
    assert np.abs(line - wavy).max() <= 0.003
    assert 20 < kept.sum() < MOST_KNOTS
    noise = np.random.default_rng(2).normal(size=(FINE.size, 2))
    assert bends(FINE, noise).sum() == MOST_KNOTS


def test_a_fine_heating_that_never_changes_has_its_ends_alone():
    assert knots_of(heating(FINE, np.zeros(FINE.size))) == (0.0, 600.0)
