"""The rules of the lathe on 2,000 random designs: a figure or a reason for each, a line that can be read."""

import itertools
import math
from collections import Counter

import pytest
from random_studies import random_designs

from optitip.errors import DesignFailure, UserMistakes
from optitip.evaluate.building import build_tip
from optitip.evaluate.turnable import turnable
from optitip.geometry.mesh import DEFAULT_RESOLUTION
from optitip.metrics.margins import CAP
from optitip.metrics.registry import UNITS
from optitip.units import System

NAMES = {name for name in UNITS if name.startswith("turning.")}


@pytest.fixture(scope="module")
def two_thousand(tmp_path_factory):
    """Return (design, how it is turned) of those of 2,000 that can be built."""
    found = []
    folder = tmp_path_factory.mktemp("lathe")
    draws = random_designs(67, folder=folder, each=10, flights=("heating table",))  # no flight is asked here
    for study, design in itertools.islice(draws, 2000):
        try:
            tables = study.with_design(design).tables
            tip = build_tip(tables, folder=study.folder, resolution=DEFAULT_RESOLUTION)
        except (DesignFailure, UserMistakes):
            continue
        found.append((design, turnable(tip)))
    return found


def test_every_design_that_is_built_has_figures_or_reasons(two_thousand):
    assert len(two_thousand) > 500
    for design, one in two_thousand:
        assert one.metrics.keys() | one.missing.keys() == NAMES, design
        assert not one.metrics.keys() & one.missing.keys(), design
        for name, value in one.metrics.items():
            assert math.isfinite(value), (design, name)
            assert name == "turning.deflection_length" or -1.0 <= value <= CAP, (design, name, value)
        assert one.metrics["turning.bar"] >= 0.0  # else it isn't built


def test_every_finding_is_one_line_in_either_system(two_thousand):
    for _, one in two_thousand:
        for finding, units in itertools.product(one.findings, System):
            said = finding.said(units)
            assert said.startswith(f"{finding.place}: ")
            assert said.endswith(".")
            assert "nan" not in said
            assert "{" not in said
            assert not any(f" -{digit}" in said for digit in range(10)) or finding.kept


def test_every_part_comes_out_of_its_bar(two_thousand):
    for _, one in two_thousand:
        assert 1 <= len(one.stock) <= 3
        for stock in one.stock:
            assert math.isfinite(stock.length)
            assert stock.length > stock.grip > 0.0


def test_each_rule_refuses_some_and_passes_some(two_thousand):
    refused, passed = Counter(), Counter()
    for _, one in two_thousand:
        for finding in one.findings:
            (passed if finding.kept else refused)[finding.name] += 1
    rules = NAMES - {"turning.smallest", "turning.deflection_length"}
    assert passed.keys() == rules
    assert refused.keys() == rules - {"turning.bar"}
    assert min(refused.values()) >= 10
