import dataclasses

import numpy as np
import pytest

from optitip.metrics.buckling import BandShape
from optitip.metrics.instants import Instant
from optitip.metrics.margins import CAP, ServicePeak, buckling_margin, service_margin, smallest_margin


def service(part, *, limit=350.0, start=300.0, peak=340.0):
    return ServicePeak(part=part, limit=limit, start=start, peak=peak, axial=0.1, time="landing")


def test_the_part_nearest_to_its_limit_sets_the_temperature_margin():
    peaks = [service("plug", peak=320.0), service("base", peak=355.0), service("band", peak=345.0)]
    margin = service_margin("margin.temperature", peaks=peaks)
    assert (margin.name, margin.part) == ("margin.temperature", "base")
    assert margin.value == pytest.approx(-0.1)


def test_a_part_that_never_warms_has_a_margin_of_one():
    assert service_margin("margin.joint", peaks=[service("sample", peak=300.0)]).value == 1.0


@pytest.mark.parametrize(("start", "peak"), [(350.0, 350.0), (360.0, 365.0)])
def test_a_start_at_or_above_the_limit_is_no_room_and_no_crash(start, peak):
    margin = service_margin("margin.joint", peaks=[service("sample", start=start, peak=peak)])
    assert margin.value == pytest.approx(350.0 - peak)


def test_without_a_limit_the_margin_is_the_cap():
    margin = service_margin("margin.temperature", peaks=[])
    assert (margin.value, margin.axial, margin.part) == (CAP, None, "")


def test_the_smallest_margin_tells_which_it_is():
    peaks = [service("base")]
    one = service_margin("margin.joint", peaks=peaks)
    two = dataclasses.replace(service_margin("margin.temperature", peaks=peaks), value=-0.3)
    smallest = smallest_margin([one, two])
    assert (smallest.name, smallest.value) == ("margin.smallest", -0.3)
    assert smallest.detail.startswith("margin.temperature: ")


def test_the_bands_margin_against_collapse_names_the_worst_instant(elastic):
    band = BandShape(fore_radius=0.027, aft_radius=0.027, axial_length=0.06, thickness=1e-3, axial=0.12)
    margin = buckling_margin(
        band,
        material=elastic(),
        temperature=np.array([300.0, 300.0]),
        pressure=np.array([0.0, -1e5]),
        axial_force=np.array([2e3, 4e3]),
        moment=np.array([[0.0, 0.0], [20.0, 20.0]]),
        instants=(Instant(time=3.0, names=("burnout",)), Instant(time=9.0, names=("apogee",))),
        factor=1.5,
    )
    # yield, 240 MPa over 2 pi r t, is far below the 1189 MPa of elastic buckling
    section = 2 * np.pi * 0.027 * 1e-3
    used = 4e3 / (240e6 * section) + 20.0 / (240e6 * 0.5 * section * 0.027)
    assert margin.value == pytest.approx(1 / (1.5 * used) - 1)
    assert (margin.part, margin.axial, margin.time, margin.seconds) == ("band", 0.12, "apogee", 9.0)
