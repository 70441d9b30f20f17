"""The picture of a log: the line used over faint samples, those left out marked and never off the axis."""

from dataclasses import replace

import numpy as np
import pytest
from matplotlib.image import imread

from optitip.export.pictures import log_plots
from optitip.export.pictures.drawing import RUST
from optitip.export.pictures.log_plots import LogRow, Recorded, plot_log
from optitip.units import System


@pytest.fixture
def drawn(monkeypatch):
    """Keep the figures that are written."""
    figures = []
    real = log_plots.save_figure
    monkeypatch.setattr(
        log_plots, "save_figure", lambda figure, *where: figures.append(figure) or real(figure, *where)
    )
    return figures


def row(label, unit, scale):
    time = np.linspace(-5.0, 90.0, 951)
    values = scale * np.sin(np.pi * np.clip(time, 0.0, 90.0) / 90.0)
    left_out = np.zeros(time.size, dtype=bool)
    left_out[[200, 500]] = True
    spiked = np.where(left_out, 50.0 * scale, values)
    used = time >= 0.0
    recorded = Recorded(label=f"{label} $x$", time=time, values=spiked, left_out=left_out)
    return LogRow(label=label, unit=unit, recorded=(recorded,), time=time[used], used=values[used])


def strips(figure):
    """Return the axes that show what was recorded less what is used: those without the line used."""
    return [axis for axis in figure.axes if "used" not in [line.get_label() for line in axis.get_lines()]]


def test_samples_left_out_are_marked_at_the_edge_and_the_line_fills_the_rows(drawn, tmp_path):
    rows = [row("altitude above sea level", "altitude", 1500.0), row("speed", "m/s", 300.0)]
    events = {"burnout": 3.0, "apogee": 45.0, "landing": 90.0}
    path = plot_log(rows, events=events, folder=tmp_path, title="a $log$")
    assert imread(path).shape[1] == pytest.approx(8.0 * 150, abs=1)
    (figure,) = drawn
    assert len(strips(figure)) == len(figure.axes) / 2
    for axis in [one for one in figure.axes if one not in strips(figure)]:
        low, high = axis.get_ylim()
        crosses = [line for line in axis.get_lines() if line.get_label() == "left out"]
        assert all(low <= value <= high for line in crosses for value in line.get_ydata())
        assert {line.get_color() for line in crosses} == {RUST}
        used = next(line for line in axis.get_lines() if line.get_label() == "used")
        assert np.ptp(used.get_ydata()) > 0.7 * (high - low)
    words = [text.get_text() for text in figure.legends[0].get_texts()]
    assert words.count("left out") == 1
    assert any(word.startswith("recorded: speed") for word in words)
    marks = [text.get_text() for axis in figure.axes for text in axis.texts]
    assert {"burnout", "apogee"} <= set(marks)


def test_a_strip_shows_how_far_the_samples_kept_stand_off_the_line_in_the_units_asked_for(drawn, tmp_path):
    plain = row("altitude above sea level", "altitude", 1500.0)
    (one,) = plain.recorded
    off = replace(one, values=one.values + 3.048)
    plot_log(
        [replace(plain, recorded=(off,))],
        events={"apogee": 45.0, "landing": 90.0},
        folder=tmp_path,
        system=System.US,
    )
    shown = [line for axis in strips(drawn[0]) for line in axis.get_lines() if line.get_linestyle() == "None"]
    assert shown
    for dots in shown:
        assert dots.get_ydata() == pytest.approx(10.0, abs=1e-6)
        assert len(dots.get_ydata()) == 901 - 2  # neither the pad's nor what was left out


def test_a_line_that_nothing_was_recorded_of_has_no_strip(drawn, tmp_path):
    bare = replace(row("acceleration felt", "m/s2", 90.0), recorded=())
    plot_log([bare], events={"apogee": 45.0, "landing": 90.0}, folder=tmp_path)
    assert strips(drawn[0]) == []
