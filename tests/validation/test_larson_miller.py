"""Time at one temperature for time at another, and shares of it summed over a flight.

Source: Callister, Materials Science and Engineering, example 9.2 (S-590 iron at 140 MPa: P = 24,000 K with
C = 20 and hours, 233 h at 1073 K); a course problem with P = 25,000 K at 1000 K: 1e5 h. Shares: Robinson's
rule worked by hand.
Tolerance: half a unit of the last digit printed.
"""

import numpy as np
import pytest

from optitip.metrics.exposure import life_share
from optitip.properties.endurance import Exposure

HOUR = 3600.0


def pair(parameter, *, temperature):
    """Return the pair of a parameter T (20 + log10 hours) at one temperature."""
    hours = 10.0 ** (parameter / temperature - 20.0)
    return Exposure(temperature=temperature, time=hours * HOUR, constant=20.0)


@pytest.mark.parametrize(
    ("parameter", "temperature", "hours", "digit"), [(24e3, 1073.0, 233.0, 0.5), (25e3, 1000.0, 1e5, 0.5)]
)
def test_a_parameter_found_at_one_temperature_gives_the_printed_time_at_another(
    parameter, temperature, hours, digit
):
    for elsewhere in (1200.0, 900.0):
        found = float(pair(parameter, temperature=elsewhere).time_at(temperature)) / HOUR
        assert found == pytest.approx(hours, abs=digit)


def test_shares_at_two_temperatures_add_up():
    # 24.3 h of the 233 at 1073 K and half an hour of the one hour at 1200 K: 0.1043 + 0.5
    rule = pair(24e3, temperature=1073.0)
    time = np.array([0.0, 24.3, 24.3 + 1e-9, 24.8 + 1e-9]) * HOUR
    share = life_share(time, allowed=rule.time_at(np.array([1073.0, 1073.0, 1200.0, 1200.0])))
    assert float(share) == pytest.approx(0.6043, abs=5e-5)
