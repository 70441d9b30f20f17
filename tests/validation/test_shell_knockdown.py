"""Knock-down factors of thin cylinders pushed along their axis, and bent.

Source: NASA SP-8007 (1968), gamma = 1 - 0.901 (1 - exp(-sqrt(r/t)/16)), bent with 0.731 instead; values
recomputed from it by hand.
Tolerance: half a unit of the fourth decimal.
"""

import pytest

from optitip.metrics.buckling import axial_knockdown, bending_knockdown


@pytest.mark.parametrize(("ratio", "factor"), [(20, 0.7803), (50, 0.6782), (100, 0.5813), (500, 0.3217)])
def test_the_factor_is_the_published_one(ratio, factor):
    assert float(axial_knockdown(ratio)) == pytest.approx(factor, abs=5e-5)


@pytest.mark.parametrize(("ratio", "factor"), [(20, 0.8217), (50, 0.7389), (100, 0.6603), (500, 0.4497)])
def test_the_factor_of_bending_is_the_published_one(ratio, factor):
    assert float(bending_knockdown(ratio)) == pytest.approx(factor, abs=5e-5)
