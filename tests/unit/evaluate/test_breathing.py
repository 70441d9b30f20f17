"""The air outside a pocket that is known from a heating table alone."""

from pathlib import Path

import pytest

from optitip.evaluate.assess import assess
from optitip.inputs.study import read_study

RIG = read_study(Path(__file__).parents[3] / "studies" / "heated-rig")
CLIMBING = """time [s],arc length [mm],film coefficient [W/(m2 K)],recovery temperature [degC],pressure [kPa]
0,0,9,21,101
0,150,9,21,101
20,0,200,120,60
20,150,90,90,40
60,0,9,-40,10
60,150,9,-40,10
"""


def test_a_sealed_pocket_blows_by_what_a_table_says_the_air_has_thinned(tmp_path):
    """Shut at 101 kPa on the ground it has still that, near enough, where the air has 10 kPa."""
    (tmp_path / "rig.csv").write_text(CLIMBING)
    (tmp_path / "study.toml").write_text(RIG.path.read_text())
    sealed = {"sample.pocket.air": "sealed", "sample.material": "PMMA", "sample.slab.share": 0.1}
    found = assess(read_study(tmp_path), design=sealed, searching=True)
    assert found.metrics, found.detail
    assert found.metrics["pocket.overpressure_peak"].low == pytest.approx(91e3, rel=0.15)


def test_in_a_rig_on_the_ground_the_air_keeps_its_pressure():
    still = assess(RIG, design={"sample.pocket.air": "open"}, searching=True)
    assert still.metrics["pocket.overpressure_peak"].low == 0.0
