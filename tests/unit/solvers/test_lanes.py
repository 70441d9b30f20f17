"""The vectors that the compiled kernels are written in: eight lanes that never mix."""

import numpy as np
import pytest

from optitip.solvers import lanes
from optitip.solvers.compiled_layout import aligned
from optitip.solvers.lanes import (
    anywhere,
    as_numbers,
    choose,
    compiled,
    gather,
    load,
    load_whole,
    root,
    spread,
    store,
    store_across,
    truncated,
)


@compiled
def _law(rows, whole):
    x, y = load(rows, 0), load(rows, 1)
    store(rows, 2, x * y + x / y - root(y))
    store(rows, 3, choose((x > y) & (x >= spread(2.0)), x, y))
    store(rows, 4, as_numbers(truncated(x)))
    store(rows, 5, gather(load_whole(whole, 0), 16))
    return anywhere(x < spread(-1e300)), anywhere(x == y)


@compiled
def _across(rows, whole):
    store_across(rows, 0, whole, 0, 8)


def test_each_lane_reckons_its_own_numbers():
    rows, whole = aligned(6), aligned(1).view(np.int64)
    table = np.arange(40.0)
    rows[0], rows[1] = np.linspace(-2.7, 5.0, 8), np.linspace(4.0, 1.0, 8)
    rows[1, 3] = np.nan
    whole[0] = table.ctypes.data + 8 * np.array([0, 5, 1, 30, 7, 7, 2, 9])
    assert _law(rows, whole) == (False, False)
    x, y = rows[0], rows[1]
    assert rows[2] == pytest.approx(x * y + x / y - np.sqrt(y), rel=1e-15, nan_ok=True)
    assert np.array_equal(rows[3], np.where((x > y) & (x >= 2.0), x, y), equal_nan=True)
    assert rows[4].tolist() == np.trunc(x).tolist()
    assert rows[5].tolist() == [2.0, 7.0, 3.0, 32.0, 9.0, 9.0, 4.0, 11.0]
    # what is no number stays in its lane
    assert np.isnan(rows[2]).tolist() == [lane == 3 for lane in range(8)]


def test_rows_written_across_are_each_lane_s_own_column():
    rows, whole = aligned(8), aligned(1).view(np.int64)
    rows[:] = np.arange(64.0).reshape(8, 8)
    out = np.zeros((8, 10))
    whole[0] = [row.ctypes.data for row in out]
    _across(rows, whole)
    assert np.array_equal(out[:, 1:9], rows.T)
    assert not out[:, [0, 9]].any()


def test_without_a_place_for_a_cache_kernels_are_compiled_all_the_same(monkeypatch):
    real, asked = lanes.njit, []

    def nowhere(*function, **options):
        asked.append(options)
        if options.get("cache"):
            raise RuntimeError("cannot cache function: no locator available")
        return real(*function, **options)

    monkeypatch.setattr(lanes, "njit", nowhere)
    assert lanes.compiled_once(lambda x: x + 1.0)(2.0) == 3.0
    assert asked == [{"cache": True}, {}]
