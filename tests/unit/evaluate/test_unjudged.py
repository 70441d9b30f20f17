"""What a person is told that no margin covers."""

from pathlib import Path

import pytest

from optitip.evaluate.assess import assess
from optitip.evaluate.record import as_mapping
from optitip.inputs.study import read_study
from optitip.metrics.registry import UNITS
from optitip.units import scale

STUDIES = Path(__file__).parents[3] / "studies"


@pytest.mark.parametrize("design", [{}, {"strength.landing_load": "300 N", "strength.snatch": "900 m/s2"}])
def test_under_a_heating_table_alone_no_load_of_a_flight_counts_as_judged(design):
    found = assess(read_study(STUDIES / "heated-rig"), design=design, searching=True)
    assert any("in flight" in one and "landing" in one for one in found.uncovered)


def test_a_landing_is_covered_once_the_study_gives_its_load():
    egg = read_study(STUDIES / "coastal-egg")
    assert [one for one in assess(egg, design={}, searching=True).uncovered if "landing" in one]
    covered = assess(egg, design={"strength.landing_load": "300 N"}, searching=True).uncovered
    assert not [one for one in covered if "landing" in one]


def test_each_unit_of_the_record_is_one_that_reads_back():
    failed = assess(read_study(STUDIES / "coastal-egg"), design={"tip.material": "balsa"}, searching=True)
    for name, said in as_mapping(failed)["metrics"].items():
        kind = "K difference" if UNITS[name] == "K difference" else said["unit"]
        assert scale(said["unit"], kind) == (0.0, 1.0)
