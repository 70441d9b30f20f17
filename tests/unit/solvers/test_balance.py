import numpy as np
import pytest

from optitip.solvers.balance import border_heat
from optitip.solvers.body import Sink


def test_heat_and_its_absolute_value_are_integrated_apart(surface):
    # one surface node held at 400 K, one sink node warming as t^2 from 300 K
    time = np.array([0.0, 1.0, 3.0])
    temperature = np.stack([np.full(3, 400.0), 300.0 + time**2], axis=1)
    slope = np.stack([np.zeros(3), 2.0 * time], axis=1)
    heated = surface([0], area=[2.0], film=[10.0, 40.0], recovery=[500.0, 500.0], time=[0.0, 3.0])
    sink = Sink(nodes=[1], conductance=[5.0], temperature=300.0)
    net, gross = border_heat(
        heated, sinks=[sink], time=time, temperature=temperature, slope=slope, slope_after=slope
    )
    gained, lost = 2.0 * 25.0 * 100.0 * 3.0, 5.0 * 9.0
    assert net == pytest.approx(gained - lost)
    assert gross == pytest.approx(gained + lost)
