from pathlib import Path

import pytest

from optitip.evaluate.assess import assess
from optitip.inputs.study import read_study

EGG = read_study(Path(__file__).parents[3] / "studies" / "coastal-egg")


def _notes(**design):
    found = assess(
        EGG, design={key.replace("__", "."): value for key, value in design.items()}, searching=True
    )
    return [note for note in found.warnings if "--refine" in note]


def test_a_metal_shell_has_cells_enough_for_its_skin():
    assert _notes() == []
    assert _notes(tip__material="304") == []


@pytest.mark.parametrize(
    ("design", "part"),
    [
        ({"tip__plug__material": "PTFE", "tip__plug__insert": "20 mm"}, "plug (PTFE)"),
        ({"tip__material": "PTFE"}, "band (PTFE)"),
    ],
)
def test_a_skin_of_plastic_thinner_than_the_cells_is_told(design, part):
    notes = " ".join(_notes(**design))
    assert part in notes
    assert "mm: its peak and depths are rough" in notes


def test_the_skin_told_is_the_depth_of_a_heated_half_space():
    [note] = _notes(tip__plug__material="PTFE", tip__plug__insert="20 mm")
    skin = float(note.split("reaches ")[1].split(" mm")[0])
    # sqrt(1.1e-7 m2/s times some 4 s)
    assert skin == pytest.approx(0.66, abs=0.25)
