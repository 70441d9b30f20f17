"""The pressure a vented sample boils under is that of the time when it does."""

from pathlib import Path

import numpy as np
import pytest

from optitip.evaluate.building import build_tip
from optitip.evaluate.conditions import LOWEST_POCKET_PRESSURE, conditions_of
from optitip.evaluate.heatings import expected_name
from optitip.geometry.mesh import DEFAULT_RESOLUTION
from optitip.inputs.study import read_study

STUDIES = Path(__file__).parents[3] / "studies"


def _conditions(name):
    study = read_study(STUDIES / name)
    return conditions_of(study, build_tip(study.tables, folder=study.folder, resolution=DEFAULT_RESOLUTION))


@pytest.mark.parametrize("name", ["coastal-egg", "upland-potato"])
def test_a_vented_sample_boils_under_the_pressure_between_burnout_and_apogee(name):
    given = _conditions(name)
    burnout, apogee = (
        float(np.interp(given.flight.events[event], given.flight.time, given.flight.pressure))
        for event in ("burnout", "apogee")
    )
    assert max(apogee, LOWEST_POCKET_PRESSURE) < given.pocket_pressure < burnout


def test_it_is_the_pressure_when_nine_tenths_of_the_heat_have_come_to_the_wall():
    given = _conditions("coastal-egg")
    heating = given.heatings[expected_name(read_study(STUDIES / "coastal-egg").tables.flow)]
    when = float(
        np.interp(
            -given.pocket_pressure,
            -given.flight.pressure[: given.flight.pressure.argmin()],
            given.flight.time[: given.flight.pressure.argmin()],
        )
    )
    fine = np.linspace(0.0, given.flight.events["apogee"], 20_001)
    station = int(np.abs(heating.arc_length - 0.5 * heating.arc_length[-1]).argmin())
    drive = heating.film[:, station, 0] * (heating.recovery[:, station] - given.start)
    heat = np.interp(fine, heating.time, np.maximum(drive, 0.0))
    assert heat[fine < when].sum() / heat.sum() == pytest.approx(0.9, abs=0.02)


def test_a_heating_table_has_its_own_lowest_pressure():
    given = _conditions("heated-rig")
    (heating,) = given.heatings.values()
    assert given.pocket_pressure == pytest.approx(float(np.min(heating.pressure)))
