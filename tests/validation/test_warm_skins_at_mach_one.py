"""How warm a tip and a thin skin get on a flight that barely passes Mach 1.

Source: a fact of the trade, with no source in print: at Mach 1.05 on a 10 degC day the surface of a thin
insulating tip peaks near 136 degF and the skin of a 1 mm aluminium wall near 90 degF.
Tolerance: 15 degF on either, loose, since the facts come without vehicle, flight or state of the boundary
layer; 0.02 on the Mach number.
"""

import pytest

from optitip.evaluate.assess import check
from optitip.evaluate.sources import flown
from optitip.inputs.study import read_study

STUDY = """
[flight]
site_temperature = "10 degC"
soak = "60 s"
[flight.ascent]
thrust = "thrust.csv"
drag = "drag.csv"
start_mass = "5 kg"
propellant_mass = "1 kg"
[outline]
family = "von Karman"
diameter = "66 mm"
length = "330 mm"
tip_radius = "3 mm"
turned_length = "120 mm"
[tip]
material = "6061-T6"
[tip.plug]
length = "45 mm"
insert = "30 mm"
material = "PTFE"
joint = "300 W/(m2 K)"
[tip.band]
thickness = "1 mm"
length = "40 mm"
[tip.base]
thickness = "1.5 mm"
separate = true
[sample]
material = "still air"
[sample.slab]
thickness = "2 mm"
[sample.joint]
conductance = "10 W/(m2 K)"
"""
THRUST = "time [s],thrust [N]\n0,0\n0.05,1000\n1.8,930\n2.0,0\n"
DRAG = "mach,drag coefficient\n0,0.5\n0.8,0.5\n1.0,0.7\n1.2,0.75\n"


@pytest.fixture(scope="module")
def study(tmp_path_factory):
    folder = tmp_path_factory.mktemp("mach-one")
    for name, text in (("study.toml", STUDY), ("thrust.csv", THRUST), ("drag.csv", DRAG)):
        (folder / name).write_text(text)
    return read_study(folder)


def fahrenheit(kelvin):
    return (kelvin - 273.15) * 1.8 + 32.0


def test_the_flight_is_the_one_spoken_of(study):
    assert flown(study).mach.max() == pytest.approx(1.05, abs=0.02)


def test_an_insulating_tip_and_a_thin_skin_warm_as_the_trade_knows(study):
    metrics = check(study).metrics
    assert fahrenheit(metrics["plug.temperature_peak"].expected) == pytest.approx(136.0, abs=15.0)
    assert fahrenheit(metrics["band.temperature_peak"].expected) == pytest.approx(90.0, abs=15.0)
