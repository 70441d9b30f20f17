"""Water's saturation line: the two directions agree, and its ends are loud."""

import numpy as np
import pytest

from optitip.errors import OutOfRange
from optitip.properties.water import boiling_temperature, vapour_pressure


def test_pressure_and_temperature_undo_each_other():
    p = np.geomspace(612.0, 22.0e6, 400)
    assert vapour_pressure(boiling_temperature(p)) == pytest.approx(p, rel=1e-7)


@pytest.mark.parametrize("pressure", [0.0, 600.0, 23e6, np.nan, [101325.0, -5.0]])
def test_a_pressure_where_water_cannot_boil_is_loud(pressure):
    with pytest.raises(OutOfRange, match=r"water\.pressure"):
        boiling_temperature(pressure)


@pytest.mark.parametrize("temperature", [270.0, 650.0, np.nan])
def test_a_temperature_where_water_cannot_boil_is_loud(temperature):
    with pytest.raises(OutOfRange, match=r"water\.temperature"):
        vapour_pressure(temperature)
