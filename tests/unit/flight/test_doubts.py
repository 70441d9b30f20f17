import numpy as np
import pytest

from optitip.errors import UserMistakes
from optitip.flight.doubts import check_agreement
from optitip.flight.smoothed import Record
from optitip.flight.timeline import Path

T = np.linspace(0.0, 20.0, 50)
RECORD = Record(time=T, altitude=100.0 * T, speed=np.full(50, 100.0))


@pytest.mark.parametrize("share", [0.8, 1.2])
def test_a_fused_climb_near_the_one_seen_is_let_pass(share):
    check_agreement(RECORD, path(share), place="log.csv")


@pytest.mark.parametrize("share", [0.03, 0.6, 1.5])
def test_a_fused_climb_far_from_the_one_seen_is_refused(share):
    with pytest.raises(UserMistakes, match="m of climb fused, 2000 m seen"):
        check_agreement(RECORD, path(share), place="log.csv")


def path(share):
    return Path(time=T, altitude=100.0 * share * T, speed=RECORD.speed, axial_acceleration=0.0 * T)
