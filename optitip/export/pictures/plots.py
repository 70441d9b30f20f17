"""Pictures of a flight, a design and a search as PNG."""

from collections.abc import Mapping, Sequence
from pathlib import Path

import numpy as np

from optitip.arrays import BoolArray
from optitip.export.pictures.drawing import (
    BLUE,
    INK,
    RUST,
    STROKES,
    draw_level,
    draw_line,
    draw_shade,
    label_of,
    legend_below,
    new_figure,
    plain,
    plain_lines,
    save_figure,
    scaled,
    style_axis,
    time_rows,
)
from optitip.export.pictures.traces import (
    FlightTrace,
    Measure,
    SampleTrace,
    bracket,
    from_lift_off,
    peak_sides,
    trace_of,
)
from optitip.units import System, text


def plot_sample(
    traces: Sequence[SampleTrace],
    *,
    expected: str,
    events: Mapping[str, float],
    folder: Path,
    name: str = "sample.png",
    title: str = "",
    warm_above: float | None = None,
    system: System = System.METRIC,
) -> Path:
    """Draw the wall's and the sample's temperatures of the ``expected`` state within all states' bracket."""
    trace = trace_of(traces, expected)
    figure = new_figure(8.0, 6.4, title)
    rows = time_rows(figure, 2, start=trace.time[0], end=trace.time[-1], events=events)
    for row, lines in zip(rows, (("wall",), ("hottest", "mean", "coldest")), strict=True):
        for key, stroke in zip(lines, _SAMPLE_STROKES[lines[0]], strict=True):
            values, unit = scaled(getattr(trace, key), "K", system)
            if key in {"wall", "mean"}:
                low, high = (scaled(side, "K", system)[0] for side in bracket(traces, trace.time, key))
                words = [f"bracket: {_SAMPLE_WORDS[key]}", peak_sides(traces, key)]
                draw_shade(row, trace.time, low, high, label=plain_lines(words))
            draw_line(row, trace.time, values, label=_SAMPLE_WORDS[key], stroke=stroke)
        if warm_above is not None and len(lines) > 1:
            level = f"warm above {text(warm_above, 'K', system)}".replace("deg", "°")
            draw_level(row, float(scaled(np.array(warm_above), "K", system)[0]), level)
        row[0].set_ylabel(f"{'wall' if len(lines) == 1 else 'sample'} temperature [{unit}]")
    legend_below(figure, [row[0] for row in rows], columns=3)
    return save_figure(figure, folder, name)


_SAMPLE_WORDS = {
    "wall": "hottest wall",
    "hottest": "sample, hottest",
    "mean": "sample, mean",
    "coldest": "sample, coldest",
}
_SAMPLE_STROKES = {"wall": ((RUST, "-"),), "hottest": ((RUST, "--"), (INK, "-"), (BLUE, "-."))}


def plot_energy(
    traces: Sequence[SampleTrace],
    *,
    expected: str,
    events: Mapping[str, float],
    folder: Path,
    name: str = "energy.png",
    title: str = "",
    system: System = System.METRIC,
) -> Path:
    """Draw the energy in the sample for each flow state; the legend gives the peaks, highest first.

    Energy counts from lift-off, and so does the picture.
    """
    traces = [from_lift_off(one) for one in traces]
    centre = trace_of(traces, expected)
    figure = new_figure(8.0, 4.6, title)
    [row] = time_rows(figure, 1, end=centre.time[-1], events=events)
    low, high = (scaled(side, "J", system)[0] for side in bracket(traces, centre.time, "energy"))
    draw_shade(row, centre.time, low, high, label="bracket of the states")
    ranked = sorted(traces, key=lambda one: -one.peak)
    strokes = iter(STROKES * (1 + len(traces) // len(STROKES)))
    for rank, trace in enumerate(ranked):
        values, unit = scaled(trace.energy, "J", system)
        words = [word for word, is_so in _RANKS if is_so(rank, len(ranked), trace is centre)]
        peak = f"peak {text(trace.peak, 'J', system)}"
        label = f"{trace.state}: {', '.join([peak, *words])}"
        stroke = (INK, "-") if trace is centre else next(strokes)
        draw_line(row, trace.time, values, label=label, stroke=stroke, width=2.4 if trace is centre else 1.3)
    row[0].set_ylabel(f"energy in the sample [{unit}]")
    legend_below(figure, row[:1], columns=2)
    return save_figure(figure, folder, name)


_RANKS = (
    ("high", lambda rank, count, _: rank == 0 and count > 1),
    ("expected", lambda _, __, is_centre: is_centre),
    ("low", lambda rank, count, _: rank == count - 1 and count > 1),
)


def plot_flight(
    flight: FlightTrace,
    *,
    events: Mapping[str, float],
    folder: Path,
    name: str = "flight.png",
    title: str = "",
    system: System = System.METRIC,
) -> Path:
    """Draw altitude and Mach number against time."""
    figure = new_figure(8.0, 5.2, title)
    above, below = time_rows(figure, 2, end=flight.time[-1], events=events)
    values, unit = scaled(flight.altitude, "altitude", system)
    draw_line(above, flight.time, values, label="", stroke=(BLUE, "-"))
    above[0].set_ylabel(f"altitude above sea level [{unit}]")
    draw_line(below, flight.time, flight.mach, label="", stroke=(RUST, "-"))
    below[0].set_ylabel("Mach number")
    return save_figure(figure, folder, name)


def plot_front(
    across: Measure,
    up: Measure,
    *,
    on_front: BoolArray,
    folder: Path,
    colour: Measure | None = None,
    chosen: Mapping[int, str] | None = None,
    name: str = "front.png",
    title: str = "",
    system: System = System.METRIC,
) -> Path:
    """Draw a search's designs, those ``on_front`` (n,) large with their brackets, the beaten ones faint."""
    figure = new_figure(8.0, 5.6, title)
    axis = figure.subplots()
    style_axis(axis)
    (x, x_unit), (y, y_unit) = (scaled(one.values, one.unit, system) for one in (across, up))
    axis.scatter(x[~on_front], y[~on_front], s=9, color="#BBBBBB", linewidths=0, label="beaten by another")
    for one in (across, up):
        if one.low is not None and one.high is not None:
            sides = [scaled(side, one.unit, system)[0] for side in (one.low, one.values, one.high)]
            reach = np.maximum(np.diff(np.array(sides), axis=0)[:, on_front], 0.0)
            if not reach.any():
                continue
            axis.errorbar(
                x[on_front], y[on_front], fmt="none", ecolor="#999999", elinewidth=0.7,
                label=plain_lines([f"bracket of {one.label}", one.sides]),
                xerr=reach if one is across else None, yerr=reach if one is up else None,
            )  # fmt: skip
    shade = BLUE if colour is None else scaled(colour.values, colour.unit, system)[0][on_front]
    dots = axis.scatter(
        x[on_front], y[on_front], s=44, c=shade, cmap="cividis" if colour else None, edgecolors=INK,
        linewidths=0.7, zorder=3, label="on the front",
    )  # fmt: skip
    if colour is not None:
        unit = scaled(colour.values, colour.unit, system)[1]
        figure.colorbar(dots, ax=axis, pad=0.02).set_label(label_of(f"{colour.label}, expected", unit))
    for index, word in (chosen or {}).items():
        axis.scatter(x[index], y[index], s=150, facecolors="none", edgecolors=RUST, linewidths=2.0, zorder=4)
        axis.annotate(
            plain(word), (x[index], y[index]), xytext=(9, 9), textcoords="offset points", fontsize=9,
            bbox={"boxstyle": "round,pad=0.2", "facecolor": "white", "edgecolor": "none", "alpha": 0.85},
            zorder=5,
        )  # fmt: skip
    axis.set_xlabel(label_of(across.label, x_unit))
    axis.set_ylabel(label_of(up.label, y_unit))
    legend_below(figure, [axis], columns=3)
    return save_figure(figure, folder, name)
