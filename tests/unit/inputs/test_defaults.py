import pytest

from optitip.inputs.defaults import completed_lengths
from optitip.inputs.study_tables import StudyTables

LEAST = {
    "flow": {"heating_table": "rig.csv"},
    "outline": {"family": "cone", "diameter": "80 mm", "length": "400 mm"},
    "tip": {"material": "304", "band": {"thickness": "1 mm"}},
    "sample": {"material": "egg white", "slab": {"thickness": "3 mm"}},
}


def lengths(length=0.4, **tip):
    tables = StudyTables.model_validate({**LEAST, "tip": {**LEAST["tip"], **tip}})
    return completed_lengths(tables, diameter=0.08, length=length)


def test_lengths_left_out_scale_with_the_tip_as_the_docstring_says():
    found = lengths()
    assert found.turned_length == pytest.approx(0.12)
    assert found.tip_radius == pytest.approx(0.0032)
    assert found.plug_length == found.band_length == pytest.approx(0.35 * 0.12)
    assert found.fore_taper == found.aft_taper == pytest.approx(0.05 * 0.12)
    assert (found.plug_wall, found.base_thickness) == (pytest.approx(2e-3), pytest.approx(3e-3))
    assert found.pocket_offset == pytest.approx(0.05 * found.band_length)
    assert found.pocket_length == pytest.approx(0.9 * found.band_length)


def test_a_short_outline_is_not_turned_to_its_end():
    assert lengths(length=0.1).turned_length == pytest.approx(0.09)


def test_what_is_written_is_kept():
    found = lengths(band={"thickness": "1 mm", "thickness_aft": "2 mm", "length": "30 mm"}, fore_taper="4 mm")
    assert (found.band_thickness, found.band_thickness_aft) == (1e-3, 2e-3)
    assert (found.band_length, found.fore_taper) == (0.03, 0.004)


def test_a_solid_base_has_no_thickness():
    assert lengths(base={"solid": True}).base_thickness is None
