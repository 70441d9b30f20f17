"""What the materials tell the lathe, and what a wrong file is told."""

import pytest
from pydantic import ValidationError

from optitip.inputs.material_records import CuttingRecord, TurningRecord, WallRecord
from optitip.properties.machining import machining_of
from optitip.properties.materials import Family, load_material, material_names

SOURCE = {"source": "a handbook, from memory"}
# N/mm2 that handbooks of cutting give for these families at a chip of 1 mm2, from memory: low and high
RANGES = {
    "6061-T6": (500e6, 900e6),
    "7075-T6": (500e6, 900e6),
    "304": (1700e6, 2500e6),
    "Ti-6Al-4V": (1200e6, 1700e6),
    "C110": (900e6, 1500e6),
    "C360": (450e6, 800e6),
}


@pytest.mark.parametrize("name", material_names())
def test_metals_and_machined_plastics_tell_the_lathe_and_foods_dont(name):
    material = load_material(name)
    if material.family in {Family.FOOD, Family.GAS}:
        assert material.machining is None
    elif material.family is Family.METAL:
        assert material.machining is not None
        assert material.machining.cutting is not None


@pytest.mark.parametrize("name", RANGES)
def test_the_specific_forces_are_those_of_their_families(name):
    cutting = load_material(name).machining.cutting
    low, high = RANGES[name]
    assert low <= cutting.force <= high
    assert 0.15 <= cutting.exponent <= 0.3


def test_aluminium_is_refused_below_half_a_millimetre_and_advised_one():
    """The shop's rule; plastics by design guides of machining shops: 1.0 and 1.5 mm."""
    for name, walls in {"6061-T6": (0.5e-3, 1e-3), "PMMA": (1e-3, 1.5e-3)}.items():
        lathe = load_material(name).machining
        assert (lathe.thinnest, lathe.advised) == pytest.approx(walls)
    assert load_material("PTFE").machining.cutting is None


def test_a_file_without_the_table_tells_nothing():
    assert machining_of(None) is None
    wall = WallRecord(thinnest="0.5 mm", advised="1 mm", **SOURCE)
    assert machining_of(TurningRecord(wall=wall)).cutting is None


@pytest.mark.parametrize(
    ("table", "wrong", "said"),
    [
        (WallRecord, {"thinnest": "2 mm", "advised": "1 mm"}, "thinnest is above advised"),
        (WallRecord, {"thinnest": "0 mm", "advised": "1 mm"}, "is not between 0 and 0.1 m"),
        (WallRecord, {"thinnest": "0.5", "advised": "1 mm"}, "no unit"),
        (CuttingRecord, {"force": "700 N", "exponent": 0.25}, "no unit of this kind"),
        (CuttingRecord, {"force": "700 MPa", "exponent": 1.0}, "is not between 0 and 1"),
    ],
)
def test_a_wrong_figure_is_told_what_is_wrong(table, wrong, said):
    with pytest.raises((ValidationError, ValueError), match=said):
        table(**wrong, **SOURCE)


def test_a_figure_without_a_source_is_refused():
    with pytest.raises(ValidationError, match="source"):
        WallRecord(thinnest="0.5 mm", advised="1 mm")
