"""The coastal study's shell at burnout by sfepy in three dimensions: other cells, another library's forms.

Source: sfepy, which the extra `bench` brings: straight hexahedra over the thermal cells, heat straight
between their corners. The package takes one curved cell for four of them, so what differs is the error of
the grid.
Tolerance: movement 0.1 % with heat and 1 % under the loads (0.056 and 0.36 % were had; the three rows of the
point left out, where hexahedra shrink to nothing); the cells' mean von Mises stress 3 % of the largest with
heat (2.4 %), 2 % under the loads (1.1 %).
"""

from importlib import import_module

import numpy as np
import pytest
from flown_shell import bonded_at_burnout

from optitip.solvers.elastic_lines import von_mises

pytestmark = pytest.mark.bench
POINT_ROWS, POINT_CELLS = 3, 6


@pytest.fixture(scope="module")
def solved():
    body, loads, fields, burnout = bonded_at_burnout()
    wedge = import_module("sfepy_wedge").SfepyWedge(body, loads, instant=burnout, angle=np.radians(2.0))
    return wedge, wedge.solved(), fields, burnout


@pytest.mark.parametrize(("case", "near"), [("primary", 1e-2), ("total", 1e-3)])
def test_the_shell_moves_as_sfepys(solved, case, near):
    wedge, moved, fields, burnout = solved
    ours = getattr(fields, f"{case}_movement")[burnout][wedge.rows][POINT_ROWS:]
    theirs = wedge.on_rows(moved[case == "total"])[POINT_ROWS:]
    assert np.abs(theirs - ours).max() < near * np.abs(ours).max()


@pytest.mark.parametrize(("case", "near"), [("primary", 2e-2), ("total", 3e-2)])
def test_the_cells_bear_what_sfepys_do(solved, case, near):
    wedge, moved, fields, burnout = solved
    ours = von_mises(getattr(fields, case)[burnout].mean(axis=1))[POINT_CELLS:]
    theirs = von_mises(wedge.cell_stress(moved[case == "total"], thermal=case == "total"))[POINT_CELLS:]
    assert np.abs(theirs - ours).max() < near * ours.max()
