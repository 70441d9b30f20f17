"""On every topology a study can ask for, the fast assembly is that of record (scikit-fem's)."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from optitip.evaluate.building import build_tip
from optitip.evaluate.warming import heat_body
from optitip.geometry.mesh import DEFAULT_RESOLUTION
from optitip.inputs.study import read_study
from optitip.solvers import banded
from optitip.solvers.assembly import assemble
from optitip.solvers.reference import reference_conduction

STUDY = Path(__file__).parents[2] / "studies" / "coastal-egg"
DESIGNS = {
    "as shipped": {},
    "an insert": {"tip.plug.insert": "20 mm", "tip.plug.material": "PTFE"},
    "a base of one piece": {"tip.base.separate": False},
    "another metal in the base": {"tip.base.material": "304"},
    "a backing": {"sample.backing.material": "still air", "sample.backing.thickness": "2 mm"},
    "a strip": {"sample.slab.share": 0.2},
    "the slab to the band's ends": {"sample.pocket.offset": "0 mm"},
    "everything": {
        "tip.plug.insert": "20 mm",
        "tip.plug.material": "glass-phenolic",
        "tip.base.material": "C360",
        "sample.slab.share": 0.5,
        "sample.backing.material": "PTFE",
        "sample.backing.thickness": "1 mm",
    },
}


@pytest.mark.parametrize("name", DESIGNS)
def test_the_fast_assembly_is_the_one_of_record(name):
    whole = read_study(STUDY)
    base = {key: value for key, value in whole.raw["tip"]["base"].items() if key != "fixing"}
    study = replace(whole, raw=whole.raw | {"tip": whole.raw["tip"] | {"base": base}})
    study = study.with_design(DESIGNS[name])
    tip = build_tip(study.tables, folder=study.folder, resolution=DEFAULT_RESOLUTION)
    body = heat_body(tip, filled=0.37, pocket_pressure=101325.0, start=290.0)
    model = assemble(body)
    k_ref = np.array([table.conductivity_reference for table in model.tables])[body.cell_material]
    stiffness, volume = reference_conduction(body, conductivity=k_ref)
    assert model.volume == pytest.approx(volume, rel=1e-11)
    random = np.random.default_rng(3)
    for _ in range(3):
        heat = random.standard_normal(len(body.points))
        found = banded.multiply(model.stiffness, heat)
        assert found == pytest.approx(stiffness @ heat, abs=1e-11 * np.abs(stiffness @ heat).max())
