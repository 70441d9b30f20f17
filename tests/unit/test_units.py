import pickle

import pytest

from optitip.units import (
    Sentence,
    System,
    UnitError,
    quantity,
    scale,
    shown,
    split_header,
    split_quantity,
    text,
)


@pytest.mark.parametrize(
    ("written", "si", "value"),
    [
        ("12 mm", "m", 0.012),
        ("1.5 in", "m", 0.0381),
        ("20 C", "K", 293.15),
        ("68 F", "K", 293.15),
        ("-40 degF", "K", 233.15),
        ("400 W/(m2 K)", "W/(m2 K)", 400.0),
        ("400 W/(m^2*K)", "W/(m2 K)", 400.0),
        ("400 W m-2 K-1", "W/(m2 K)", 400.0),
        ("3 m/s2", "m/s2", 3.0),
        ("2 g0", "m/s2", 19.6133),
        ("20 delta_degC", "K difference", 20.0),
        ("60 %", "1", 0.6),
        ("90 deg", "rad", 1.5707963267948966),
        ("1013.25 hPa", "Pa", 101325.0),
    ],
)
def test_a_quantity_reads_as_its_si_value(written, si, value):
    assert quantity(written, si) == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize(
    ("written", "si"),
    [
        ("12", "m"),
        ("12 s", "m"),
        ("(2+3) mm", "m"),
        ("nan mm", "m"),
        ("inf mm", "m"),
        ("1e400 mm", "m"),
        ("20 degC/s", "K"),
        ("20 degC", "K difference"),
        ("5 __import__('os')", "m"),
        ("1 m**9**9**9", "m"),
        ("1 " + "m " * 3000, "m"),
        ("1 parsnip", "m"),
        ("", "m"),
        ("mm", "m"),
        ("3 mm", "1"),
    ],
)
def test_what_is_no_quantity_of_the_kind_is_refused_with_a_remedy(written, si):
    with pytest.raises(UnitError) as caught:
        quantity(written, si)
    assert caught.value.problem
    assert caught.value.remedy


def test_a_column_of_temperatures_scales_with_its_offset():
    offset, factor = scale("degF", "K")
    assert offset + factor * 212.0 == pytest.approx(373.15)


def test_a_header_without_brackets_has_no_unit():
    assert split_header("mach") == ("mach", "")
    assert split_header(" altitude [ft] ") == ("altitude", "ft")


def test_the_number_and_the_unit_of_a_text_come_apart_unconverted():
    assert split_quantity("0.80 mm") == (0.8, "mm")


def test_us_customary_units_show_inch_and_fahrenheit():
    assert shown(373.15, "K", System.US)[0] == pytest.approx(212.0)
    assert text(0.0254, "m", System.US) == "1 inch"
    assert text(0.5, "1") == "0.5"


def test_a_sentence_keeps_its_figures_across_a_process_border():
    one = pickle.loads(pickle.dumps(Sentence("it reaches {0}", (373.15, "K"))))
    assert one == "it reaches 100 degC"
    assert one.said(System.US) == "it reaches 212 degF"
    assert text(1.3558179483314004, "N m", System.US) == "1 lbf ft"  # 0.45359237 kg x 9.80665 m/s2 x 0.3048 m
