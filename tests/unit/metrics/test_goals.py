import pytest

from optitip.errors import UserMistakes
from optitip.metrics.goals import Direction, Limit, Sense, parse_goals, parse_limit
from optitip.metrics.values import Bracketed

UNITS = {"sample.energy_peak": "J", "band.temperature_peak": "K", "margin.yield": "1", "shell.mass": "kg"}


@pytest.mark.parametrize(
    ("metric", "text", "sense", "value"),
    [
        ("margin.yield", ">= 0", Sense.AT_LEAST, 0.0),
        ("margin.yield", ">=10 %", Sense.AT_LEAST, 0.1),
        ("sample.energy_peak", " >=  2 kJ ", Sense.AT_LEAST, 2000.0),
        ("band.temperature_peak", "<= 150 degC", Sense.AT_MOST, 423.15),
    ],
)
def test_a_limit_is_read_in_the_unit_of_its_metric(metric, text, sense, value):
    assert parse_limit(metric, text, units=UNITS) == Limit(
        metric=metric, sense=sense, value=pytest.approx(value)
    )


@pytest.mark.parametrize(
    ("metric", "text", "said"),
    [
        ("margin.yield", "0", "neither >= nor <="),
        ("margin.yield", "> 0", "neither >= nor <="),
        ("sample.energy_peak", ">= 2", "no unit"),
        ("sample.energy_peak", ">= 2 mm", "no unit of this kind"),
        ("sample.energy_peak", ">= nan J", "no quantity"),
        ("margin.yeild", ">= 0", "Did you mean 'margin.yield'"),
    ],
)
def test_a_limit_that_makes_no_sense_is_a_mistake_with_its_place(metric, text, said):
    with pytest.raises(UserMistakes, match=said) as caught:
        parse_limit(metric, text, units=UNITS)
    assert caught.value.mistakes[0].place == f"limits.'{metric}'"


def test_the_worst_flow_state_decides_on_a_limit():
    value = Bracketed(unit="1", low=-0.1, expected=0.5, high=2.0)
    assert not Limit(metric="m", sense=Sense.AT_LEAST, value=0.0).kept(value)
    assert Limit(metric="m", sense=Sense.AT_LEAST, value=-0.1).kept(value)
    assert not Limit(metric="m", sense=Sense.AT_MOST, value=1.0).kept(value)
    assert Limit(metric="m", sense=Sense.AT_MOST, value=2.0).kept(value)


def test_the_expected_value_is_what_an_objective_costs():
    goals = parse_goals(maximise=["sample.energy_peak"], minimise=["shell.mass"], limits={}, units=UNITS)
    value = Bracketed(unit="J", low=1.0, expected=2.0, high=9.0)
    assert [one.direction for one in goals.objectives] == [Direction.MAXIMISE, Direction.MINIMISE]
    assert [one.cost(value) for one in goals.objectives] == [-2.0, 2.0]


def test_mistakes_of_objectives_and_limits_are_told_together():
    with pytest.raises(UserMistakes) as caught:
        parse_goals(
            maximise=["shell.mas", "margin.yield"],
            minimise=["margin.yield"],
            limits={"margin.yield": "0", "shell.mass": "<= 1 K"},
            units=UNITS,
        )
    assert [mistake.place for mistake in caught.value.mistakes] == [
        "sweep.maximise",
        "sweep",
        "limits.'margin.yield'",
        "limits.'shell.mass'",
    ]


def test_goals_without_an_objective_are_refused():
    with pytest.raises(UserMistakes, match="nothing is sought"):
        parse_goals(maximise=[], minimise=[], limits={"margin.yield": ">= 0"}, units=UNITS)
