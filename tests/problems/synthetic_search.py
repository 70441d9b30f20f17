"""What is free and what is sought in the invented tip."""

from synthetic_tip import CHOICES, FREE, UNITS

from optitip.metrics.goals import parse_goals
from optitip.search.space import Space


def space():
    return Space(FREE, CHOICES)


def goals(*, limits=None):
    if limits is None:
        limits = {"margin.smallest": ">= 0", "band.temperature_peak": "<= 330 degC"}
    return parse_goals(
        maximise=("sample.energy_peak", "margin.smallest"),
        minimise=("shell.mass",),
        limits=limits,
        units=UNITS,
    )
