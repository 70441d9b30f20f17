"""An hour on the command line: what could be another one than was meant is refused."""

from datetime import datetime

import pytest

from optitip.cli.hours import next_hour
from optitip.errors import UserMistakes

NIGHT = datetime(2031, 3, 4, 22, 0)


@pytest.mark.parametrize("text", ["7:5", "07.00", "25:00", "7", "", "7:60", "noon", "07:0", "0:5"])
def test_what_is_no_hour_is_a_mistake(text):
    with pytest.raises(UserMistakes, match=r"Write it like 07:00"):
        next_hour(text, now=NIGHT)


@pytest.mark.parametrize("text", ["7:05", "07:05", " 07:05 "])
def test_the_next_time_the_clock_shows_it(text):
    assert next_hour(text, now=NIGHT) == datetime(2031, 3, 5, 7, 5)
    assert next_hour(text, now=datetime(2031, 3, 5, 7, 4)) == datetime(2031, 3, 5, 7, 5)
