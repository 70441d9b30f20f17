from dataclasses import replace

import numpy as np
import pytest
from matplotlib.figure import Figure
from matplotlib.image import imread

from optitip.export.pictures import plots, section_plots
from optitip.export.pictures.drawing import DOTS_PER_INCH, mark_events, new_figure
from optitip.export.pictures.plots import plot_energy, plot_flight, plot_front, plot_sample
from optitip.export.pictures.section_plots import Strip, plot_section
from optitip.export.pictures.traces import FlightTrace, Measure, SampleTrace, Section
from optitip.units import System

EVENTS = {"burnout": 3.0, "apogee": 50.0, "landing": 250.0, "end": 800.0}
TIME = np.concatenate([np.linspace(0.0, 50.0, 100), np.linspace(51.0, 800.0, 100)])


def traces():
    rise = 1.0 - np.exp(-TIME / 10.0)
    return [
        SampleTrace(
            state=state,
            time=TIME,
            coldest=290.0 + 30.0 * factor * rise,
            mean=290.0 + 40.0 * factor * rise,
            hottest=290.0 + 60.0 * factor * rise,
            wall=290.0 + 200.0 * factor * rise,
            energy=1000.0 * factor * rise,
            peak=1002.0 * factor,
        )
        for state, factor in (("laminar", 0.5), ("onset $1e6$", 1.0), ("turbulent", 1.5))
    ]


@pytest.fixture
def drawn(monkeypatch):
    """Keep each figure as it is saved, so that a test can read its axes."""
    figures: list[Figure] = []
    real = plots.save_figure

    def keep(figure, folder, name):
        figures.append(figure)
        return real(figure, folder, name)

    for room in (plots, section_plots):
        monkeypatch.setattr(room, "save_figure", keep)
    return figures


def texts_cut_off(figure):
    """Return the texts of the figure that leave the picture."""
    renderer = figure.canvas.get_renderer()
    width, height = figure.canvas.get_width_height()
    found = [
        text for axis in figure.axes for text in (axis.title, axis.xaxis.label, axis.yaxis.label, *axis.texts)
    ]
    found += [text for legend in figure.legends for text in legend.get_texts()]
    outside = []
    for text in found:
        box = text.get_window_extent(renderer)
        if text.get_text().strip() and (
            box.x0 < -1 or box.y0 < -1 or box.x1 > width + 1 or box.y1 > height + 1
        ):
            outside.append(text.get_text())
    return outside


def labels(figure):
    return [axis.get_ylabel() for axis in figure.axes] + [axis.get_xlabel() for axis in figure.axes]


def line(axis, label):
    [found] = [one for one in axis.get_lines() if str(one.get_label()).startswith(label)]
    return found


def test_the_samples_plot_shows_the_expected_state_in_the_units_asked_for(drawn, tmp_path):
    for system, unit, level in ((System.METRIC, "°C", 56.85), (System.US, "°F", 134.33)):
        plot_sample(
            traces(), expected="onset $1e6$", events=EVENTS, folder=tmp_path, warm_above=333.15, system=system
        )
        figure = drawn[-1]
        assert f"wall temperature [{unit}]" in labels(figure)
        assert f"sample temperature [{unit}]" in labels(figure)
        mean = line(figure.axes[2], "sample, mean")
        assert mean.get_ydata()[-1] == pytest.approx(level, abs=0.01)
        assert texts_cut_off(figure) == []


def test_a_wait_on_the_pad_has_a_column_of_its_own_beside_the_temperatures(drawn, tmp_path):
    waited = [
        replace(one, time=np.concatenate([[-1800.0, -900.0], one.time]), **{
            name: np.concatenate([[280.0, 281.0], getattr(one, name)])
            for name in ("coldest", "mean", "hottest", "wall", "energy")
        })
        for one in traces()
    ]  # fmt: skip
    plot_sample(waited, expected="onset $1e6$", events=EVENTS, folder=tmp_path)
    assert [axis.get_xlim()[0] for axis in drawn[-1].axes[:3]] == [-1800.0, 0.0, 50.0]
    ahead = drawn[-1].axes[3]
    assert ahead.get_xlabel() == "on the pad [min]"
    assert [word.get_text() for word in ahead.get_xticklabels()] == ["\N{MINUS SIGN}20", "\N{MINUS SIGN}10"]
    assert ahead.get_xticks().tolist() == [-1200.0, -600.0]
    assert texts_cut_off(drawn[-1]) == []
    plot_energy(waited, expected="onset $1e6$", events=EVENTS, folder=tmp_path)
    assert len(drawn[-1].axes) == 2
    assert line(drawn[-1].axes[0], "laminar").get_xdata()[0] == 0.0


def test_the_shaded_bracket_reaches_from_the_lowest_to_the_highest_state(drawn, tmp_path):
    plot_sample(traces(), expected="onset $1e6$", events=EVENTS, folder=tmp_path)
    [band] = drawn[-1].axes[0].collections
    corners = band.get_paths()[0].vertices
    assert corners[:, 1].max() == pytest.approx(290.0 + 300.0 - 273.15, abs=0.1)
    at_the_end = corners[corners[:, 0] == TIME[-1]][:, 1]
    assert at_the_end.min() == pytest.approx(290.0 + 100.0 - 273.15, abs=0.1)


def test_the_energy_plots_legend_names_low_expected_and_high_with_their_peaks(drawn, tmp_path):
    plot_energy(traces(), expected="onset $1e6$", events=EVENTS, folder=tmp_path)
    words = [text.get_text() for text in drawn[-1].legends[0].get_texts()]
    assert words == [
        "bracket of the states",
        "turbulent: peak 1503 J, high",
        r"onset \$1e6\$: peak 1002 J, expected",
        "laminar: peak 501 J, low",
    ]
    assert texts_cut_off(drawn[-1]) == []


def test_the_flights_plot_splits_at_apogee_and_labels_both_units(drawn, tmp_path):
    flight = FlightTrace(time=TIME, altitude=100.0 * TIME, mach=np.exp(-TIME))
    plot_flight(flight, events=EVENTS, folder=tmp_path, system=System.US)
    figure = drawn[-1]
    assert [axis.get_xlim() for axis in figure.axes[:2]] == [(0.0, 50.0), (50.0, 800.0)]
    assert "altitude above sea level [ft]" in labels(figure)
    assert figure.axes[0].get_lines()[-1].get_ydata()[-1] == pytest.approx(80000.0 / 0.3048)
    assert texts_cut_off(figure) == []


def test_a_flight_that_ends_at_apogee_or_has_none_is_one_scale(drawn, tmp_path):
    flight = FlightTrace(time=TIME, altitude=TIME, mach=TIME)
    plot_flight(flight, events={"burnout": 3.0}, folder=tmp_path)
    assert len(drawn[-1].axes) == 2


def test_events_that_stand_close_share_one_label(drawn, tmp_path):
    flight = FlightTrace(time=TIME, altitude=TIME, mach=TIME)
    events = EVENTS | {"main": 245.0}
    plot_flight(flight, events=events, folder=tmp_path)
    assert [text.get_text() for text in drawn[-1].axes[1].texts] == ["main, landing"]


def test_the_section_is_drawn_with_both_halves_one_scale_and_its_parts_named(drawn, tmp_path):
    points = np.array([[0, 0], [0, 0.05], [0.01, 0.05], [0, 0.1], [0.02, 0.1]], float)
    section = Section(
        points=points,
        cells=np.array([[0, 2, 1, 0], [1, 2, 4, 3]]),
        parts=np.array([0, 1]),
        part_names={0: "plug", 1: "base", 7: "nowhere"},
    )
    strips = [
        Strip(title="burnout", values=np.linspace(300.0, 400.0, 5), mark=(0.01, 0.05)),
        Strip(title="landing", values=np.full(5, 310.0)),
    ]
    path = plot_section(section, strips, folder=tmp_path)
    figure = drawn[-1]
    words = [text.get_text() for text in figure.axes[0].texts]
    assert words == ["burnout", "plug", "base"]
    assert figure.axes[0].get_ylim() == pytest.approx((-22.0, 22.0))
    assert figure.axes[-1].get_xlabel() == "temperature [°C]"
    marked = [
        [line.get_xydata().tolist() for line in axis.lines if len(line.get_xdata()) == 2]
        for axis in figure.axes[:2]
    ]
    assert marked == [[[[50.0, 10.0], [50.0, -10.0]]], []]
    meshes = [one for axis in figure.axes[:2] for one in axis.collections if one.get_array() is not None]
    assert len(meshes) == 4
    assert [one.get_clim() for one in meshes] == [pytest.approx((26.85, 126.85))] * 4
    assert texts_cut_off(figure) == []
    assert imread(path).shape[1] == pytest.approx(8.4 * DOTS_PER_INCH, abs=1)


def test_the_fronts_plot_keeps_beaten_designs_apart_and_marks_the_chosen_one(drawn, tmp_path):
    mass, energy = np.array([0.1, 0.2, 0.3, 0.25]), np.array([900.0, 1200.0, 1500.0, 1000.0])
    on_front = np.array([True, True, True, False])
    plot_front(
        Measure(label="shell mass", unit="kg", values=mass),
        Measure(label="energy", unit="J", values=energy, low=0.5 * energy, high=1.3 * energy),
        colour=Measure(label="smallest margin", unit="1", values=np.arange(4.0)),
        on_front=on_front,
        chosen={1: "k3$f9"},
        folder=tmp_path,
    )
    figure = drawn[-1]
    axis = figure.axes[0]
    beaten, bars, front, ring = axis.collections
    assert beaten.get_offsets().tolist() == [[250.0, 1000.0]]
    assert front.get_offsets().tolist() == [[100.0, 900.0], [200.0, 1200.0], [300.0, 1500.0]]
    assert ring.get_offsets().tolist() == [[200.0, 1200.0]]
    reach = np.array([segment[:, 1] for segment in bars.get_segments()])
    assert reach == pytest.approx(np.array([[450.0, 1170.0], [600.0, 1560.0], [750.0, 1950.0]]))
    assert (axis.get_xlabel(), axis.get_ylabel()) == ("shell mass [g]", "energy [J]")
    assert figure.axes[1].get_ylabel() == "smallest margin, expected"
    assert texts_cut_off(figure) == []


def test_a_title_with_a_formula_sign_or_a_line_break_is_plain_text_in_one_line(drawn, tmp_path):
    flight = FlightTrace(time=TIME, altitude=TIME, mach=TIME)
    plot_flight(flight, events={}, folder=tmp_path, title=r"$\frac{broken$ x$" + "\nsecond")
    assert "\n" not in drawn[-1].get_suptitle()
    assert (tmp_path / "flight.png").read_bytes().startswith(b"\x89PNG")


def test_the_same_data_gives_the_same_bytes(tmp_path):
    flight = FlightTrace(time=TIME, altitude=TIME, mach=TIME)
    first = plot_flight(flight, events=EVENTS, folder=tmp_path, name="a.png")
    second = plot_flight(flight, events=EVENTS, folder=tmp_path, name="b.png")
    assert first.read_bytes() == second.read_bytes()


def test_the_sample_plots_brackets_name_the_states_of_the_peaks(tmp_path, drawn):
    plot_sample(traces(), expected="onset $1e6$", events=EVENTS, folder=tmp_path)
    words = [text.get_text() for text in drawn[0].legends[0].get_texts()]
    assert "bracket: hottest wall\npeak low laminar, high turbulent" in words
    assert "bracket: sample, mean\npeak low laminar, high turbulent" in words


def test_the_fronts_brackets_name_their_states_and_a_measure_without_one_has_none(tmp_path, drawn):
    mass, energy = np.array([0.1, 0.2]), np.array([900.0, 1200.0])
    plot_front(
        Measure(label="shell mass", unit="kg", values=mass, low=mass, high=mass),
        Measure(
            label="energy", unit="J", values=energy, low=0.5 * energy, high=energy, sides="low from laminar"
        ),
        on_front=np.array([True, True]),
        folder=tmp_path,
    )
    words = [text.get_text() for text in drawn[0].legends[0].get_texts()]
    assert "bracket of energy\nlow from laminar" in words
    assert not any("shell mass" in word for word in words)


def test_a_word_near_the_right_end_leans_left_so_that_the_edge_does_not_cut_it():
    axis = new_figure(4.0, 3.0, "").subplots()
    axis.set_xlim(0.0, 100.0)
    mark_events([axis], {"burnout": 10.0, "main": 95.0})
    assert {note.get_text(): note.get_horizontalalignment() for note in axis.texts} == {
        "burnout": "left",
        "main": "right",
    }
