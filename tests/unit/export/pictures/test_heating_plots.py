"""Pictures of a heating: what stands in them, and that nothing leaves them."""

from pathlib import Path

import numpy as np
import pytest
from matplotlib.figure import Figure
from matplotlib.image import imread

from optitip.evaluate.exposed import Exposed
from optitip.export.pictures import heating_plots
from optitip.export.pictures.heating_plots import plot_heating_along, plot_heating_in_time, plot_transition
from optitip.heating.table import Heating
from optitip.heating.transition import bracket, intermittency
from optitip.units import System

TIME, ARC = np.linspace(0.0, 40.0, 41), np.linspace(0.0, 0.15, 20)
EVENTS = {"burnout": 8.0, "apogee": 30.0, "landing": 34.0}
# the Reynolds number climbs along the surface, greatest at burnout, and is unknown from the apogee on
REYNOLDS = 4e7 * ARC * np.exp(-(((TIME - 8.0) / 6.0) ** 2))[:, None] * (TIME < 30.0)[:, None]
PLACES = {
    "stagnation point": 0.0,
    "plug": 0.02,
    "pocket's fore end": 0.05,
    "middle of the pocket": 0.075,
    "pocket's aft end": 0.1,
    "base": 0.13,
}


def heatings(states, *, reynolds=REYNOLDS):
    found = {}
    for number, state in enumerate(states):
        share = intermittency(reynolds, state=state, arc_length=ARC)
        film = 50.0 + 20.0 * number + 900.0 * share
        found[state.name] = Heating(
            time=TIME,
            arc_length=ARC,
            wall=[288.15],
            film=film[..., None],
            recovery=300.0 + 10.0 * film / 100.0,
            pressure=np.full(film.shape, 1e5),
            reynolds=reynolds,
            turbulent=share,
            surroundings=np.full(TIME.size, 288.0),
            name=state.name,
            warnings=(),
        )
    return found


def shown(states=None, **settings):
    states = bracket() if states is None else states
    return Exposed(
        heatings=heatings(states, **settings),
        expected="onset at 1e6" if len(states) > 1 else states[0].name,
        flight=None,
        wall=291.15,
        places=PLACES,
        instants={"highest dynamic pressure, burnout": 8.0, "apogee": 29.9},
        pocket=(0.05, 0.1),
        warnings=(),
    )


@pytest.fixture
def drawn(monkeypatch):
    """Keep each figure as it is saved, so that a test can read its axes."""
    figures: list[Figure] = []
    real = heating_plots.save_figure

    def keep(figure, folder, name):
        figures.append(figure)
        return real(figure, folder, name)

    monkeypatch.setattr(heating_plots, "save_figure", keep)
    return figures


def cut_off(figure):
    """Return the texts that leave the picture."""
    renderer, (width, height) = figure.canvas.get_renderer(), figure.canvas.get_width_height()
    found = [
        text for axis in figure.axes for text in (axis.title, axis.xaxis.label, axis.yaxis.label, *axis.texts)
    ]
    found += [text for legend in figure.legends for text in legend.get_texts()]
    boxes = [(text.get_text(), text.get_window_extent(renderer)) for text in found if text.get_text().strip()]
    return [
        words
        for words, box in boxes
        if box.x0 < -1 or box.y0 < -1 or box.x1 > width + 1 or box.y1 > height + 1
    ]


def legend(figure):
    return [text.get_text() for one in figure.legends for text in one.get_texts()]


def draw_all(found, folder, **settings):
    along = plot_heating_along(found, folder=folder, title="A title", **settings)
    in_time = plot_heating_in_time(found, events=EVENTS, folder=folder, title="A title", **settings)
    turning = plot_transition(
        found, states=bracket(), events=EVENTS, folder=folder, title="A title", **settings
    )
    return along, in_time, turning


@pytest.mark.parametrize("system", System)
def test_each_picture_is_written_and_cuts_nothing_off(system, tmp_path, drawn):
    for path in draw_all(shown(), tmp_path, system=system):
        assert imread(path).std() > 0.01
    assert [cut_off(figure) for figure in drawn] == [[], [], []]


def test_lines_along_the_surface_are_those_of_the_instant_and_the_expected_state(tmp_path, drawn):
    found = shown()
    plot_heating_along(found, folder=tmp_path)
    film, recovery = drawn[0].axes[0], drawn[0].axes[2]
    [line] = film.get_lines()
    wanted = np.interp(line.get_xdata() / 1e3, ARC, found.heatings["onset at 1e6"].film[8, :, 0])
    assert line.get_ydata() == pytest.approx(wanted)
    assert recovery.get_lines()[0].get_ydata() == pytest.approx(300.0 + 0.1 * wanted - 273.15)
    assert film.get_yscale() == "log"


def test_the_bracket_names_the_states_of_its_sides_and_is_missing_under_one_table(tmp_path, drawn):
    plot_heating_along(shown(), folder=tmp_path)
    assert any("low laminar" in one and "turbulent while heating" in one for one in legend(drawn[0]))
    one = bracket()[2:3]
    plot_heating_along(shown(one), folder=tmp_path)
    plot_heating_in_time(shown(one), events={}, folder=tmp_path)
    assert not any("bracket" in word for figure in drawn[1:] for word in legend(figure))


def test_lines_in_time_are_those_of_the_places(tmp_path, drawn):
    found = shown()
    plot_heating_in_time(found, events=EVENTS, folder=tmp_path)
    lines = {line.get_label(): line for line in drawn[0].axes[0].get_lines()}
    assert set(PLACES) < set(lines)
    wanted = [np.interp(0.075, ARC, row[:, 0]) for row in found.heatings["onset at 1e6"].film]
    assert lines["middle of the pocket"].get_ydata() == pytest.approx(wanted)
    assert "at a wall of 18" in drawn[0].axes[0].get_ylabel()


def turning(drawn, folder, states=None, **settings):
    states = bracket() if states is None else states
    plot_transition(shown(states, **settings), states=states, events=EVENTS, folder=folder)
    above, below = drawn[-1].axes[:2]
    return above, below


def contours(axis):
    """Return the level and the points (n, 2) of each contour line."""
    sets = [one for one in axis.collections if hasattr(one, "levels") and not one.filled]
    return {float(one.levels[0]): one.get_paths()[0].vertices for one in sets}


def test_each_onset_is_a_line_at_its_own_reynolds_number(tmp_path, drawn):
    above, _ = turning(drawn, tmp_path)
    found = contours(above)
    assert sorted(found) == [5e5, 1e6, 2e6]
    for onset, points in found.items():
        reynolds = 4e7 * points[:, 1] / 1e3 * np.exp(-(((points[:, 0] - 8.0) / 6.0) ** 2))
        assert np.median(reynolds) == pytest.approx(onset, rel=0.02)


def test_an_onset_that_is_never_reached_has_no_line_and_its_share_stays_at_nothing(tmp_path, drawn):
    above, below = turning(drawn, tmp_path, bracket(high_onset=9e6))
    assert sorted(contours(above)) == [5e5, 1e6]
    lines = {line.get_label(): line.get_ydata() for line in below.get_lines()}
    assert not lines["onset at 9e6"].any()
    assert lines["onset at 1e6 (expected)"].max() == pytest.approx(1.0, abs=0.05)


def test_the_map_ends_where_reynolds_numbers_do_and_marks_pocket_and_trip(tmp_path, drawn):
    above, below = turning(drawn, tmp_path, bracket(trip=0.03))
    assert above.get_xlim() == pytest.approx((0.0, 29.0))
    assert below.get_xlim() == above.get_xlim()
    levels = {round(float(line.get_ydata()[0]), 6) for line in above.get_lines()}
    assert {30.0, 50.0, 100.0} <= levels
    assert "trip, 30 mm" in legend(drawn[0])


def test_a_heating_without_reynolds_numbers_has_no_such_picture(tmp_path):
    found = shown(reynolds=np.zeros_like(REYNOLDS))
    assert plot_transition(found, states=bracket(), events={}, folder=tmp_path) is None
    assert list(Path(tmp_path).iterdir()) == []
