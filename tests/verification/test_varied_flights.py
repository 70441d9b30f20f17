"""Flights varied to another peak Mach number and burn, against the flights themselves and each other.

A record flown as it was gives the study's own energy; an ascent read as if it were a record, its masses
forgotten, gives the energy it has with them; faster and longer burning flights heat more, as the order of
levers has it.

Source: own; nothing in print. Tolerances: 0.15 % for a record as it was; without the masses 2 % for as long
a burn and up to a quarter faster, 7 % at Mach 2.5 with half or twice the burn (read: -1.5, -6.1, +2.9 %).
"""

from pathlib import Path

import pytest

from optitip.evaluate import conditions
from optitip.evaluate.assess import assess
from optitip.evaluate.sources import _ascended, atmosphere_of, flown
from optitip.flight.varied import as_vehicle, varied_vehicle
from optitip.inputs.study import read_study

STUDIES = Path(__file__).parents[2] / "studies"
METRIC = "sample.energy_peak"


def energy(study, **varied):
    design = {f"flight.varied.{key}": value for key, value in varied.items()}
    return assess(study, design=design, searching=True).metrics[METRIC].expected


@pytest.mark.parametrize("name", ["coastal-egg", "upland-potato", "polymer-coupon"])
def test_a_flight_varied_to_its_own_mach_number_heats_as_it_did(name):
    study = read_study(STUDIES / name)
    own = flown(study)
    again = energy(study, peak_mach=f"{own.peak_mach!r}", burn=f"{own.events['burnout']!r} s")
    assert again == pytest.approx(energy(study), rel=1.5e-3)
    assert energy(study, peak_mach=f"{own.peak_mach!r}") == again


@pytest.mark.parametrize("name", ["coastal-egg", "polymer-coupon"])
def test_a_varied_flight_burns_as_long_as_it_is_told_and_once_varied_stays_as_it_is(name):
    varied = read_study(STUDIES / name).with_design({"flight.varied.burn": "2.5 s"})
    assert flown(varied).events["burnout"] == pytest.approx(2.5, rel=1e-6)
    assert energy(varied, burn="2.5 s") == energy(varied)


@pytest.mark.parametrize(
    ("mach", "burn", "within"),
    [
        (1.4, 3.2, 0.01),
        (2.2, 3.2, 0.02),
        (1.767, 1.6, 0.01),
        (1.767, 6.0, 0.02),
        (2.5, 1.6, 0.07),
        (2.5, 6.0, 0.04),
    ],
)
def test_an_ascent_read_as_a_record_heats_nearly_as_with_its_masses(mach, burn, within, monkeypatch):
    study = read_study(STUDIES / "polymer-coupon")
    table, own = study.tables.flight, flown(study)
    with_masses = energy(study, peak_mach=f"{mach}", burn=f"{burn} s")
    made, _ = varied_vehicle(
        as_vehicle(own),
        peak_mach=mach,
        longer=burn / own.events["burnout"],
        atmosphere=atmosphere_of(table),
        rail_angle=table.ascent.rail_angle,
        rail_length=table.ascent.rail_length,
    )
    flight = _ascended(table, made, air=atmosphere_of(table))
    monkeypatch.setattr(conditions, "flown", lambda _: flight)
    assert energy(study) == pytest.approx(with_masses, rel=within)


@pytest.mark.parametrize("name", ["coastal-egg", "polymer-coupon"])
def test_faster_and_longer_burning_flights_heat_more(name):
    study = read_study(STUDIES / name)
    own = flown(study)
    mach, burn = own.peak_mach, own.events["burnout"]
    faster = [energy(study, peak_mach=f"{share * mach:.4f}") for share in (0.7, 0.85, 1.0, 1.2, 1.4)]
    longer = [energy(study, burn=f"{share * burn:.4f} s") for share in (0.4, 0.7, 1.0, 1.5, 2.5)]
    assert faster == sorted(faster)
    assert longer == sorted(longer)
    assert faster[-1] > 1.3 * faster[2]
    assert longer[-1] > 1.1 * longer[2]
