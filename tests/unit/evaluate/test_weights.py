from pathlib import Path

import numpy as np
import pytest

from optitip.evaluate.building import build_tip
from optitip.evaluate.weights import weights_of
from optitip.geometry.mesh import DEFAULT_RESOLUTION
from optitip.geometry.shell import part_volumes
from optitip.geometry.topology import Zone
from optitip.inputs.study import read_study

STUDY = Path(__file__).parents[3] / "studies" / "coastal-egg"


def built(design):
    study = read_study(STUDY).with_design(design)
    return build_tip(study.tables, folder=study.folder, resolution=DEFAULT_RESOLUTION)


def test_the_shell_weighs_what_its_exact_half_section_does():
    tip = built({"tip.base.material": "C360"})
    exact = part_volumes(tip.cavity)
    metal, base = tip.materials[0], next(one for one in tip.materials if one.name == "C360")
    mass = metal.density * exact.shell + base.density * exact.base
    assert weights_of(tip).shell["shell.mass"] == pytest.approx(mass, rel=1e-3)


def test_the_shells_centre_is_that_of_its_cells_thin_rings():
    tip = built({})
    cells = np.flatnonzero(tip.mesh.cell_zone < Zone.SLAB)
    middle = tip.mesh.points[tip.mesh.cells[cells], 1].mean(axis=1)
    centre = tip.cell_volume[cells] @ middle / tip.cell_volume[cells].sum()
    assert weights_of(tip).shell["shell.centre_of_mass"] == pytest.approx(centre, rel=1e-3)


def test_a_strip_holds_its_share_of_the_slab_and_touches_its_share_of_the_wall():
    whole, strip = weights_of(built({})), weights_of(built({"sample.slab.share": 0.25}))
    assert strip.slab_volume == pytest.approx(0.25 * whole.slab_volume)
    assert strip.slab_mass == pytest.approx(0.25 * whole.slab_mass)
    assert strip.contact_area == pytest.approx(0.25 * whole.contact_area)
    tip = built({})
    # 3 mm of egg white under the pocket's wall
    assert whole.slab_volume.sum() == pytest.approx(tip.cell_volume[tip.cells_of("slab")].sum())
    assert whole.slab_volume.sum() == pytest.approx(3e-3 * whole.contact_area, rel=0.1)
    assert whole.slab_mass == pytest.approx(tip.sample.density * whole.slab_volume.sum())
