import math
import re
from pathlib import Path

import pytest

from optitip.errors import DesignFailure, UserMistakes
from optitip.evaluate.as_made import as_made, fitted
from optitip.evaluate.as_made_sheet import blank_as_made
from optitip.evaluate.assess import check
from optitip.evaluate.building import build_tip
from optitip.evaluate.drawn import AFT, FORE, drawn_lengths
from optitip.evaluate.gauged import Gauged, wall_of_bore
from optitip.evaluate.weights import weights_of
from optitip.geometry.mesh import DEFAULT_RESOLUTION
from optitip.geometry.outline import family_outline
from optitip.inputs.as_made import MEASURABLE, DiameterReading, read_as_made
from optitip.inputs.study import read_study
from optitip.inputs.study_tables import OutlineFamily
from optitip.units import System

STUDIES = Path(__file__).parents[3] / "studies"
ENERGY, BAND, MASS = "sample.energy_peak", "band.temperature_peak", "shell.mass"


@pytest.fixture(scope="module")
def egg():
    return read_study(STUDIES / "coastal-egg")


@pytest.fixture(scope="module")
def tip(egg):
    return build_tip(egg.tables, folder=egg.folder, resolution=DEFAULT_RESOLUTION)


@pytest.fixture(scope="module")
def drawn(egg):
    return check(egg)


@pytest.fixture
def made(tmp_path):
    def of(study, text):
        path = tmp_path / "made.toml"
        path.write_text(text)
        return as_made(study, measured=read_as_made(path))

    return of


def lines(made, study, text):
    with pytest.raises(UserMistakes) as raised:
        made(study, text)
    return [str(one) for one in raised.value.mistakes]


def expected(assessment):
    return {name: one.expected for name, one in assessment.metrics.items()}


def walls(tip, readings):
    """Return wall readings as text: shares of the band's arc with what the wall is off the drawn one [mm]."""
    fore, aft = tip.cavity.band_arc
    said = []
    for share, off in readings:
        arc = fore + share * (aft - fore)
        z = float(tip.outline.at([arc])[0][0])
        thick = float(tip.cavity.wall_thickness([arc])[0]) + 1e-3 * off
        said.append(f'[[wall]]\nz = "{z!r} m"\nthickness = "{thick!r} m"\n')
    return "".join(said)


def test_a_wall_measured_thicker_is_the_study_edited_by_hand_exactly(egg, drawn, made):
    found = made(egg, '"tip.band.thickness" = "1.35 mm"\n')
    by_hand = check(egg.with_design({FORE: "1.35 mm"}))
    assert expected(found.assessment) == expected(by_hand)
    before, after = expected(drawn), expected(found.assessment)
    assert after[MASS] > before[MASS]
    assert after[BAND] < before[BAND]  # the same heat in more metal
    assert after[ENERGY] > before[ENERGY]  # on this flight: see the verification of a thicker wall
    assert after[MASS] - before[MASS] == pytest.approx(
        3.0 * 0.86e-3, rel=0.03
    )  # thrice the tolerance's 0.05 mm


def test_wall_readings_that_say_the_same_give_the_same_part(egg, tip, made):
    by_key = made(egg, '"tip.band.thickness" = "1.35 mm"\n')
    by_readings = made(egg, walls(tip, [(0.1, 0.15), (0.5, 0.15), (0.9, 0.15)]))
    for name, value in expected(by_key.assessment).items():
        assert expected(by_readings.assessment)[name] == pytest.approx(value, rel=1e-6, abs=1e-6), name
    assert by_readings.wall.residual < 1e-12


def test_readings_are_fitted_by_least_squares_fore_and_aft(tip):
    # normal equations of off = (1 - x) f + x a by hand: x 0, 1/2, 1 and off 1, 4, 4 (um) give f 1.5, a 4.5
    fore, aft = tip.cavity.band_arc
    arcs = [fore, 0.5 * (fore + aft), aft]
    found = Gauged(walls=tuple(zip(arcs, (1.201e-3, 1.204e-3, 1.204e-3), strict=True)), outside=())
    fit = fitted(found, tip=tip)
    assert fit.fore == pytest.approx(1.2015e-3, abs=1e-12)
    assert fit.aft == pytest.approx(1.2045e-3, abs=1e-12)
    assert fit.residual == pytest.approx(1e-6 * math.sqrt((0.25 + 1.0 + 0.25) / 3.0), abs=1e-11)
    assert fit.worst == pytest.approx(1e-6, abs=1e-11)
    assert not fit.alike


@pytest.mark.parametrize("readings", [[(0.3, 0.1)], [(0.3, 0.05), (0.4, 0.15)]])
def test_readings_that_say_nothing_of_a_taper_move_both_ends_alike(egg, tip, made, readings):
    fit = made(egg, walls(tip, readings)).wall
    assert fit.alike
    assert (fit.fore, fit.aft) == pytest.approx((1.3e-3, 1.3e-3), abs=1e-12)


def test_readings_of_a_wall_drawn_tapered_are_held_to_the_drawn_wall_where_they_are(egg):
    """A wall drawn 1.6 to 1.2 mm and 0.1 mm thick all along is 1.7 to 1.3 mm."""
    study = egg.with_design({"tip.band.thickness": "1.6 mm", "tip.band.thickness_aft": "1.2 mm"})
    tip = build_tip(study.tables, folder=study.folder, resolution=DEFAULT_RESOLUTION)
    fore, aft = tip.cavity.band_arc
    read = tuple((fore + share * (aft - fore), 1.7e-3 - share * 0.4e-3) for share in (0.1, 0.5, 0.9))
    fit = fitted(Gauged(walls=read, outside=()), tip=tip)
    assert (fit.fore, fit.aft) == pytest.approx((1.7e-3, 1.3e-3), abs=1e-9)
    assert fit.worst < 1e-9


def test_a_bore_under_a_cone_gives_the_wall_of_its_triangle():
    # a cone of half angle a: t = (R - r) cos a, textbook geometry
    cone = family_outline(OutlineFamily.CONE, diameter=0.08, length=0.4, turned_length=0.2, tip_radius=2e-3)
    angle = math.atan(0.1)
    station = 0.15
    outside = 2.0 * float(cone.at(cone.arc_length_of([station]))[1][0])
    reading = DiameterReading(z="150 mm", bore=f"{outside - 4e-3!r} m")
    arc, thickness = wall_of_bore(reading, station=station, outline=cone)
    assert thickness == pytest.approx(2e-3 * math.cos(angle), rel=1e-5)
    assert float(cone.at([arc])[0][0]) == pytest.approx(station - thickness * math.sin(angle), abs=1e-8)


def test_an_outside_read_beside_the_bore_takes_the_drawing_out_of_the_wall(egg, tip, made):
    # both turned 0.2 mm larger in diameter: the wall is as drawn
    radius, z = tip.cavity.band_points([0.5 * sum(tip.cavity.band_arc)])[0].tolist()
    outside = 2.0 * float(tip.outline.at(tip.outline.arc_length_of([z]))[1][0])
    text = (
        f'[[diameter]]\nz = "{z!r} m"\noutside = "{outside + 2e-4!r} m"\nbore = "{2 * radius + 2e-4!r} m"\n'
    )
    found = made(egg, text)
    assert found.wall.fore == pytest.approx(1.2e-3, abs=2e-9)
    assert found.outside[0][1:] == pytest.approx((outside, outside + 2e-4))
    alone = made(egg, f'[[diameter]]\nz = "{z!r} m"\nbore = "{2 * radius + 2e-4!r} m"\n')
    slope = float(tip.outline.at(tip.outline.arc_length_of([z]))[2][0])
    assert alone.wall.fore == pytest.approx(1.2e-3 - 1e-4 * math.cos(slope), rel=1e-3)


def test_the_balance_of_a_thicker_part_is_explained_by_its_wall(egg, made):
    heavier = check(egg.with_design({FORE: "1.35 mm"})).metrics[MASS].expected
    found = made(egg, f'mass = "{heavier!r} kg"\n')
    (one,) = found.masses
    assert one.difference > 0.0
    assert one.wall == pytest.approx(0.15e-3, rel=0.01)
    assert found.design == {}  # a mass is no input of the model
    as_it_is = made(egg, f'"tip.band.thickness" = "1.35 mm"\nmass = "{heavier!r} kg"\n').masses[0]
    assert as_it_is.wall == pytest.approx(0.0, abs=1e-9)
    beyond = made(egg, f'"tip.band.thickness" = "1.34 mm"\nmass = "{heavier!r} kg"\n').masses[0]
    assert beyond.wall == pytest.approx(1e-5, rel=2e-3)  # what a wall weighs is that of the part as made


def test_the_slab_on_the_balance_is_told_beside_the_predicted(egg, made):
    (one,) = made(egg, 'slab_mass = "15 g"\n').masses
    assert one.what == "slab"
    assert one.balance == pytest.approx(0.015)
    assert one.wall is None


@pytest.mark.parametrize("name", ["coastal-egg", "polymer-coupon"])
@pytest.mark.parametrize("units", list(System))
def test_the_blank_sheet_filled_in_with_the_drawn_values_is_the_drawn_part(made, name, units):
    study = read_study(STUDIES / name)
    sheet = blank_as_made(study, units=units)
    filled, count = re.subn(r'= ""  # drawn ([\d.]+ \w+)', r'= "\1"  #', sheet)
    assert count >= 14
    found = made(study, filled)
    assert found.design == {}
    assert len(found.lengths) >= 9
    assert found.wall.count == 3
    assert expected(found.assessment) == expected(check(study))


def test_the_blank_sheet_as_it_is_says_that_nothing_was_measured(egg, made):
    found = made(egg, blank_as_made(egg))
    assert found.design == {}
    assert (found.lengths, found.wall, found.masses) == ((), None, ())


def test_what_was_not_measured_stays_as_drawn_where_it_would_scale(made):
    study = read_study(STUDIES / "upland-potato")  # its plug's wall is twice the band's by default
    found = made(study, '"tip.band.thickness" = "1.1 mm"\n')
    assert drawn_lengths(found.study) == {**drawn_lengths(study), FORE: 1.1e-3, AFT: 1.1e-3}


def test_every_length_of_a_part_can_be_measured(egg):
    assert set(drawn_lengths(egg)) <= set(MEASURABLE)


def test_readings_are_refused_together_with_what_to_look_for(egg, made):
    text = (
        '"tip.base.bore" = "10 mm"\n"tip.plug.length" = "48 inch"\n"tip.band.thickness" = "1.3 mm"\n'
        'mass = "1 kg"\nslab_mass = "1 g"\n[[wall]]\nz = "70 mm"\nthickness = "1.2 mm"\n'
    )
    found = lines(made, egg, text)
    beginnings = ("tip.plug.length: 1219 mm where 48 mm is drawn", "tip.base.bore: the drawn part has none",
                  "tip.band.thickness: the wall is measured twice", "mass: 1000 g where 104.3 g is drawn",
                  "slab_mass: 1 g where")  # fmt: skip
    assert len(found) == len(beginnings)
    for beginning in beginnings:
        assert any(line.startswith(f"made.toml, {beginning}") for line in found), beginning


@pytest.mark.parametrize(
    ("reading", "said"),
    [
        ('[[wall]]\nz = "20 mm"\nthickness = "1.2 mm"', "20 mm from the nose point lies outside the band"),
        (
            '[[wall]]\nz = "900 mm"\nthickness = "1.2 mm"',
            "900 mm from the nose point is off the tip",
        ),
        (
            '[[diameter]]\nz_from_aft = "0.2 m"\noutside = "50 mm"',
            "-50 mm from the nose point is off",
        ),
        ('[[wall]]\nz_from_aft = "20 mm"\nthickness = "1.2 mm"', "130 mm from the nose point lies outside"),
        ('[[wall]]\nz = "80 mm"\nthickness = "1.2 inch"', "in a part of 16.14 mm radius. Give diameters"),
        ('[[wall]]\nz = "80 mm"\nthickness = "0.3 mm"', "a wall of 0.3 mm where 1.2 mm is drawn"),
        ('[[diameter]]\nz = "80 mm"\nbore = "14.9 mm"', "Look for a radius in place of a diameter"),
        ('[[diameter]]\nz = "80 mm"\noutside = "16.1 mm"', "Give the diameter, no radius"),
    ],
)
def test_a_reading_that_cannot_be_is_one_clear_line(egg, made, reading, said):
    found = lines(made, egg, reading)
    assert len(found) == 1
    assert said in found[0]


def test_what_is_beyond_its_tolerance_is_told(egg, made):
    # the table's defaults: 0.05 mm of wall, 0.2 mm of slab, 0.1 mm of depth
    text = '"tip.band.thickness" = "{}"\n"sample.slab.thickness" = "{}"\n"tip.plug.length" = "48.1 mm"\n'
    assert made(egg, text.format("1.25 mm", "2.8 mm")).beyond == ()
    over = made(egg, text.format("1.14 mm", "3.3 mm"))
    assert [off for _, off, _ in over.beyond] == pytest.approx([-6e-5, -6e-5, 3e-4])
    assert [allowed for _, _, allowed in over.beyond] == pytest.approx([5e-5, 5e-5, 2e-4])


def test_a_part_that_cannot_be_is_placed_at_the_readings(egg, made):
    with pytest.raises(DesignFailure) as raised:
        made(egg, '"tip.band.length" = "100 mm"\n')
    assert str(raised.value).startswith("made.toml, tip.")


def test_limits_and_targets_are_judged_on_the_part_as_made(egg, made):
    found = made(egg, '"tip.band.thickness" = "1.25 mm"\n').assessment
    assert [one.limit.metric for one in found.limits] == ["margin.smallest", "turning.smallest"]
    assert len(found.targets) == 1


def test_the_sheet_says_what_the_balance_shows_beside_the_model(egg):
    drawn = build_tip(egg.tables, folder=egg.folder, resolution=DEFAULT_RESOLUTION)
    model = weights_of(drawn).shell["shell.mass"]
    assert "balance shows" not in blank_as_made(egg)
    assert "balance shows" not in blank_as_made(egg, finished=model)
    lighter = blank_as_made(egg, finished=model - 0.0337)
    assert "33.7 g lighter than the model's shell" in lighter
    assert "add that to what the balance shows" in lighter
    assert "take that off" in blank_as_made(egg, finished=model + 0.001)
