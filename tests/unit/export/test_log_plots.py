"""The picture of a log: the line used over faint samples, those left out marked and never off the axis."""

import numpy as np
import pytest
from matplotlib.image import imread

from optitip.export import log_plots
from optitip.export.drawing import RUST
from optitip.export.log_plots import LogRow, Recorded, plot_log


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


def test_samples_left_out_are_marked_at_the_edge_and_the_line_fills_the_rows(drawn, tmp_path):
    rows = [row("altitude above sea level", "altitude", 1500.0), row("speed", "m/s", 300.0)]
    events = {"burnout": 3.0, "apogee": 45.0, "landing": 90.0}
    path = plot_log(rows, events=events, folder=tmp_path, title="a $log$")
    assert imread(path).shape[1] == pytest.approx(8.0 * 150, abs=1)
    (figure,) = drawn
    for axis in figure.axes:
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
