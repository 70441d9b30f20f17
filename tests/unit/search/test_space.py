import numpy as np
import pytest

from optitip.errors import UserMistakes
from optitip.search.space import Space, design_id
from optitip.units import quantity


@pytest.fixture
def space():
    return Space(
        {"tip.band.thickness": ("0.6 mm", "2.5 mm"), "tip.band.length": ("4 cm", "120 mm")},
        {"tip.material": ("304", "6061-T6", "C110"), "sample.captive": (True, False)},
    )


def test_a_value_is_written_with_five_digits_in_the_unit_of_the_lower_bound(space):
    design = space.design_at([1 / 3, 1 / 3, 0.0, 0.0])
    assert design["tip.band.thickness"] == "1.2333 mm"
    assert design["tip.band.length"] == "6.6667 cm"


def test_bounds_in_two_units_span_the_same_length(space):
    assert quantity(str(space.design_at([0, 1, 0, 0])["tip.band.length"]), "m") == pytest.approx(0.12)


def test_each_choice_takes_an_equal_share_of_its_side(space):
    drawn = [
        space.design_at([0, 0, share, 0])["tip.material"] for share in (0.0, 0.33, 0.34, 0.66, 0.67, 1.0)
    ]
    assert drawn == ["304", "304", "6061-T6", "6061-T6", "C110", "C110"]


def test_a_truth_value_stays_one(space):
    assert space.design_at([0, 0, 0, 0.2])["sample.captive"] is True


def test_a_design_goes_to_its_point_and_back_unchanged(space):
    for point in np.random.default_rng(5).random((64, space.dimension)):
        design = space.design_at(point)
        assert space.design_at(space.point_of(design)) == design


def test_rounding_never_leaves_the_range():
    space = Space({"a": ("1.000004 mm", "1.000006 mm")}, {})
    values = [quantity(str(space.design_at([share])["a"]), "mm") for share in np.linspace(0, 1, 11)]
    assert min(values) >= 1.000004
    assert max(values) <= 1.000006


def test_a_temperature_range_counts_in_its_own_scale():
    space = Space({"flight.site_temperature": ("-10 degC", "30 degC")}, {})
    assert space.design_at([0.25])["flight.site_temperature"] == "0 degC"


def test_the_name_of_a_design_depends_on_values_and_not_on_order():
    assert design_id({"a": "1 mm", "b": "x"}) == design_id({"b": "x", "a": "1 mm"})
    assert design_id({"a": "1 mm", "b": "x"}) != design_id({"a": "1.0001 mm", "b": "x"})


def test_the_name_of_a_design_is_the_same_in_every_process():
    assert design_id({"tip.band.thickness": "1.237 mm", "tip.material": "304"}) == "d781ef82e634"


def test_all_mistakes_of_a_space_are_told_together():
    with pytest.raises(UserMistakes) as caught:
        Space(
            {"a": ("2 mm", "1 mm"), "b": ("2 mm", "3"), "c": ("20 degC", "90 degF"), "d": ("x", "1 mm")},
            {"a": ("x",), "e": (), "f": ("x", "x")},
        )
    places = [mistake.place for mistake in caught.value.mistakes]
    assert places == [f"sweep.free.'{key}'" for key in "abcd"] + [f"sweep.choices.'{key}'" for key in "aef"]


def test_a_space_with_nothing_free_is_refused():
    with pytest.raises(UserMistakes, match="nothing is free"):
        Space({}, {})
