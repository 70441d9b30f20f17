"""Isentropic flow, the normal shock and the flow through a hole against printed tables.

Source: Ames Research Staff 1953, NACA Report 1135, tables I and II, gamma 1.4 (areas from memory); the
library gasdyn.
Tolerance: half a unit of the last digit printed; 1e-9 against the library; 1e-4 for the areas.
"""

import gasdyn
import numpy as np
import pytest

from optitip.heating.compressible import (
    log_shock_loss,
    log_total_pressure,
    mach_from_log_total_pressure,
    pitot_pressure_ratio,
    shock_mach,
    shock_pressure_ratio,
    temperature_ratio,
)
from optitip.metrics.pocket_pressure import CHOKED, orifice_flow

# M, T/T0, p/p0, p2/p1, M2, pt2/p1
TABLE = [
    (1.5, 0.68966, 0.27240, 2.4583, 0.7011, 3.4133),
    (2.0, 0.55556, 0.12780, 4.5000, 0.5774, 5.6404),
    (3.0, 0.35714, 0.02722, 10.3333, 0.4752, 12.0610),
    (4.0, 0.23810, 0.00659, 18.5000, 0.4350, 21.0681),
]


@pytest.mark.parametrize("row", TABLE, ids=lambda row: f"Mach {row[0]:g}")
def test_the_relations_print_the_table(row):
    mach, temperature, pressure, shock, behind, pitot = row
    assert temperature_ratio(mach) == pytest.approx(temperature, abs=5.1e-6)
    assert np.exp(-log_total_pressure(mach)) == pytest.approx(pressure, abs=5.1e-6)
    assert shock_pressure_ratio(mach) == pytest.approx(shock, abs=5.1e-5)
    assert shock_mach(mach) == pytest.approx(behind, abs=5.1e-5)
    assert pitot_pressure_ratio(mach) == pytest.approx(pitot, abs=5.1e-5)
    assert mach_from_log_total_pressure(-np.log(pressure)) == pytest.approx(mach, rel=2e-4)


@pytest.mark.parametrize("mach", [1.05, 1.7, 2.6, 3.7, 4.9])
def test_an_independent_library_has_the_same_shock(mach):
    oracle = gasdyn.solve_normal_shock(mach_1=mach)
    assert shock_pressure_ratio(mach) == pytest.approx(oracle.pres_ratio, rel=1e-9)
    assert shock_mach(mach) == pytest.approx(oracle.mach_2, rel=1e-9)
    assert np.exp(log_shock_loss(mach)) == pytest.approx(oracle.pres_stag_ratio, rel=1e-9)


@pytest.mark.parametrize(
    ("mach", "pressure", "area"), [(0.3, 0.93947, 2.0351), (0.5, 0.84302, 1.3398), (0.8, 0.65602, 1.0382)]
)
def test_a_hole_passes_the_flow_of_its_pressure_ratio(mach, pressure, area):
    # of all areas that pass one flow the throat's is least: flow over choked flow is A*/A
    through = {"temperature": 300.0, "area": 1e-6}
    share = orifice_flow(1e5, downstream=pressure * 1e5, **through) / orifice_flow(
        1e5, downstream=0.0, **through
    )
    assert float(share) == pytest.approx(1.0 / area, rel=1e-4)
    assert np.exp(-log_total_pressure(mach)) == pytest.approx(pressure, abs=5.1e-6)


def test_a_hole_chokes_at_the_pressure_of_mach_one():
    assert pytest.approx(0.5283, abs=5.1e-5) == CHOKED
    assert np.exp(-log_total_pressure(1.0)) == pytest.approx(CHOKED, rel=1e-12)
