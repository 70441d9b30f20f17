"""Pictures of a heating as PNG: along the surface, in time, and where the boundary layer turns."""

from collections.abc import Mapping, Sequence
from pathlib import Path

import numpy as np
from matplotlib.axes import Axes
from matplotlib.colors import LogNorm
from matplotlib.figure import Figure
from matplotlib.ticker import FuncFormatter

from optitip.arrays import FloatArray
from optitip.evaluate.exposed import Exposed, film_spread, recovery_spread, values_at
from optitip.export.pictures.drawing import (
    FAINT,
    INK,
    PLUM,
    RUST,
    STROKES,
    draw_line,
    draw_shade,
    label_of,
    legend_below,
    mark_events,
    new_figure,
    plain,
    plain_lines,
    save_figure,
    scaled,
    style_axis,
    time_rows,
)
from optitip.heating.transition import FlowKind, FlowState
from optitip.units import System, text

FILM = "film coefficient"
RECOVERY = "recovery temperature"
ALONG, TIMES = 160, 240  # places and instants a line is drawn through


def plot_heating_along(
    shown: Exposed,
    *,
    folder: Path,
    name: str = "heating-along.png",
    title: str = "",
    system: System = System.METRIC,
) -> Path:
    """Draw film and recovery temperature against arc length, a column for each named instant."""
    figure = new_figure(max(2.0 + 1.9 * len(shown.instants), 7.0), 5.4, title)
    axes = figure.subplots(2, len(shown.instants), sharex=True, sharey="row", squeeze=False)
    reach = _reach(shown)
    places = np.linspace(0.0, reach, ALONG)
    across = scaled(places, "m", system)[0]
    for column, (word, time) in zip(axes.T, shown.instants.items(), strict=True):
        both = _both(shown, time=np.array([time]), arc_length=places, system=system)
        for axis, (low, expected, high) in zip(column, both, strict=True):
            style_axis(axis)
            _mark_pocket(axis, shown, system)
            if len(shown.heatings) > 1:
                draw_shade([axis], across, low[0], high[0], label=_bracket_label(shown, places))
            draw_line([axis], across, expected[0], label=f"expected: {shown.expected}", stroke=(RUST, "-"))
        words = [*word.split(", "), f"{time:.4g} s"]
        column[0].set_title("\n".join(plain(one) for one in words), fontsize=8.5)
        column[0].set_yscale("log")
    unit = scaled(places, "m", system)[1]
    for axis in axes[1]:
        axis.set_xlabel(label_of("arc length", unit), fontsize=9)
    _label_both(list(axes[:, 0]), shown, system)
    legend_below(figure, [axes[0, 0]], columns=2 if len(shown.heatings) > 1 else 3)
    return save_figure(figure, folder, name)


def plot_heating_in_time(
    shown: Exposed,
    *,
    events: Mapping[str, float],
    folder: Path,
    name: str = "heating-in-time.png",
    title: str = "",
    system: System = System.METRIC,
) -> Path:
    """Draw film and recovery temperature against time at each named place, one place's bracket shaded."""
    heating = shown.heatings[shown.expected]
    time, places = heating.time, np.array(list(shown.places.values()))
    figure = new_figure(8.4, 7.0, title)
    rows = time_rows(figure, 2, start=float(time[0]), end=float(time[-1]), events=events)
    middle = list(shown.places).index(_MIDDLE)
    both = _both(shown, time=time, arc_length=places, system=system)
    for row, values in zip(rows, both, strict=True):
        low, expected, high = values
        if len(shown.heatings) > 1:
            draw_shade(
                row,
                time,
                low[:, middle],
                high[:, middle],
                label=f"{_MIDDLE},\n{_bracket_label(shown, places[[middle]])}",
            )
        for k, (word, stroke) in enumerate(zip(shown.places, _PLACE_STROKES, strict=True)):
            draw_line(row, time, expected[:, k], label=word, stroke=stroke, width=2.2 if k == middle else 1.3)
    for axis in rows[0]:
        axis.set_yscale("log")
    _label_both([row[0] for row in rows], shown, system)
    legend_below(figure, [rows[0][0]], columns=3)
    return save_figure(figure, folder, name)


_MIDDLE = "middle of the pocket"
_PLACE_STROKES = (STROKES[0], STROKES[3], STROKES[1], (INK, "-"), STROKES[2], STROKES[4])


def plot_transition(
    shown: Exposed,
    *,
    states: Sequence[FlowState],
    events: Mapping[str, float],
    folder: Path,
    name: str = "transition.png",
    title: str = "",
    system: System = System.METRIC,
) -> Path | None:
    """Draw the edge Reynolds number over time and arc length with the onsets, and what each makes turbulent.

    None where no Reynolds number is known: then nothing is drawn.
    """
    heating = shown.heatings[shown.expected]
    onsets = [state for state in states if state.kind is FlowKind.ONSET]
    known = heating.reynolds.max(axis=1) > 0.0
    if not known.any():
        return None
    first, last = (int(k) for k in np.flatnonzero(known)[[0, -1]])
    end = min(float(heating.time[last]), events.get("apogee", np.inf))
    time = np.linspace(max(float(heating.time[max(first - 1, 0)]), 0.0), end, TIMES)
    figure = new_figure(8.4, 6.8, title)
    above, below = figure.subplots(2, 1, sharex=True, gridspec_kw={"height_ratios": [3.0, 1.3]})
    for axis in (above, below):
        style_axis(axis)
        axis.set_xlim(time[0], time[-1])
    _draw_map(figure, above, shown, time=time, onsets=onsets, system=system)
    mark_events([above, below], {word: at for word, at in events.items() if time[0] < at < time[-1]})
    _draw_shares(below, shown, time=time, onsets=onsets)
    below.set_xlabel("time from lift-off [s]")
    legend_below(figure, [above, below], columns=2)
    return save_figure(figure, folder, name)


def _draw_map(
    figure: Figure,
    axis: Axes,
    shown: Exposed,
    *,
    time: FloatArray,
    onsets: Sequence[FlowState],
    system: System,
) -> None:
    """Draw the Reynolds number in shades that grow lighter, each onset as a line, pocket and trip."""
    places = np.linspace(0.0, _reach(shown), ALONG)
    heating = shown.heatings[shown.expected]
    reynolds = np.maximum(values_at(heating.reynolds, heating=heating, time=time, arc_length=places), 1.0)
    across, unit = scaled(places, "m", system)
    filled = axis.contourf(
        time, across, reynolds.T, levels=_LEVELS, norm=LogNorm(_LEVELS[0], _LEVELS[-1]), cmap="cividis",
        extend="both", zorder=0.5,
    )  # fmt: skip
    bar = figure.colorbar(filled, ax=axis, pad=0.02, format=FuncFormatter(_short))
    bar.set_label("edge Reynolds number by arc length")
    for state, dashes in zip(onsets, _ONSET_DASHES, strict=False):
        expected = state.name == shown.expected
        width = 2.2 if expected else 1.5
        for colour, thicker in (("white", 1.6), (RUST if expected else INK, 0.0)):
            if reynolds.max() > state.onset:
                axis.contour(
                    time, across, reynolds.T, levels=[state.onset], colors=colour, linestyles=[dashes],
                    linewidths=width + thicker,
                )  # fmt: skip
    trips = {state.trip for state in onsets if state.trip is not None}
    for trip in trips:
        place = float(scaled(np.array(trip), "m", system)[0])
        axis.axhline(place, color="white", linewidth=3.2)
        axis.axhline(
            place, color=PLUM, linewidth=1.8, linestyle=(0, (8, 2)), label=f"trip, {text(trip, 'm', system)}"
        )
    for side in shown.pocket:
        axis.axhline(float(scaled(np.array(side), "m", system)[0]), color="white", linewidth=1.2)
    middle = float(scaled(np.array(0.5 * sum(shown.pocket)), "m", system)[0])
    axis.text(
        time[-1], middle, "pocket ", ha="right", va="center", fontsize=9, color=INK,
        bbox={"boxstyle": "round,pad=0.2", "facecolor": "white", "edgecolor": "none", "alpha": 0.85},
    )  # fmt: skip
    axis.set_ylabel(plain(f"arc length from the nose point [{unit}]"))
    axis.grid(visible=False)


def _short(value: float, _: object) -> str:
    """Return a level as the flow states are named."""
    return f"{value:.0e}".replace("e+0", "e")


def _draw_shares(axis: Axes, shown: Exposed, *, time: FloatArray, onsets: Sequence[FlowState]) -> None:
    """Draw the share of the time the layer at mid pocket is turbulent, for each onset."""
    middle = np.array([0.5 * sum(shown.pocket)])
    for state, dashes in zip(onsets, _ONSET_DASHES, strict=False):
        heating = shown.heatings[state.name]
        share = values_at(heating.turbulent, heating=heating, time=time, arc_length=middle)[:, 0]
        expected = state.name == shown.expected
        label = f"{state.name}{' (expected)' if expected else ''}"
        stroke = (RUST if expected else INK, dashes)
        draw_line([axis], time, share, label=label, stroke=stroke, width=2.2 if expected else 1.5)
    axis.set_ylim(-0.03, 1.03)
    axis.set_ylabel("turbulent share,\n" + _MIDDLE, fontsize=9)


_LEVELS = np.array([1e4, 3e4, 1e5, 2e5, 5e5, 1e6, 2e6, 5e6, 1e7, 2e7])
_ONSET_DASHES: tuple[str | tuple[int, tuple[int, ...]], ...] = ("--", "-", ":", "-.")


def _both(
    shown: Exposed, *, time: FloatArray, arc_length: FloatArray, system: System
) -> tuple[tuple[FloatArray, ...], tuple[FloatArray, ...]]:
    """Return film and recovery temperature as (low, expected, high), (n_t, n_s) each, in shown units."""
    found = []
    for unit, spread in (("W/(m2 K)", film_spread), ("K", recovery_spread)):
        given = spread(shown, time=time, arc_length=arc_length)
        sides = (given.low, given.expected, given.high)
        found.append(tuple(scaled(side, unit, system)[0] for side in sides))
    return found[0], found[1]


def _bracket_label(shown: Exposed, arc_length: FloatArray) -> str:
    """Return what a film's bracket is called: the states that give its low and its high at named instants."""
    film = film_spread(shown, time=np.array(list(shown.instants.values())), arc_length=arc_length)
    low, high = (" or ".join(names) for names in (film.low_states, film.high_states))
    return f"bracket of the film: low {low},\nhigh {high}"


def _reach(shown: Exposed) -> float:
    return float(shown.heatings[shown.expected].arc_length[-1])


def _mark_pocket(axis: Axes, shown: Exposed, system: System) -> None:
    fore, aft = scaled(np.array(shown.pocket), "m", system)[0]
    axis.axvspan(fore, aft, color=FAINT, alpha=0.5, linewidth=0.0, label="pocket", zorder=0)


def _label_both(axes: Sequence[Axes], shown: Exposed, system: System) -> None:
    wall = text(shown.wall, "K", system).replace("deg", "°")
    for axis, (words, kind) in zip(axes, ((FILM, "W/(m2 K)"), (RECOVERY, "K")), strict=True):
        unit = scaled(np.zeros(1), kind, system)[1]
        lines = [words, f"at a wall of {wall}", f"[{unit}]"] if words == FILM else [label_of(words, unit)]
        axis.set_ylabel(plain_lines(lines), fontsize=9)
