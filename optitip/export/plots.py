"""Pictures of a flight, a design and a search as PNG, the one use of matplotlib (its Agg canvas alone).

Colours keep apart for the colour-blind and lines differ by dashes too, so that a grey print can be read.
"""

import io
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Literal, TypeAlias

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.collections import LineCollection
from matplotlib.figure import Figure
from matplotlib.ticker import FuncFormatter, MaxNLocator
from matplotlib.tri import Triangulation

from optitip.arrays import BoolArray, FloatArray
from optitip.export.files import write_bytes
from optitip.export.traces import (
    FlightTrace,
    Measure,
    SampleTrace,
    Section,
    bracket,
    part_edges,
    trace_of,
    triangles,
)
from optitip.units import System, shown, text

Layout: TypeAlias = Literal["constrained", "compressed"]
Stroke: TypeAlias = tuple[str, str | tuple[int, tuple[int, ...]]]

DOTS_PER_INCH = 150
# Okabe and Ito's palette, dark ones first
_BLUE, _RUST, _GREEN, _PLUM, _AMBER, _SKY = "#0072B2", "#C04A00", "#007A5E", "#A0477F", "#D58A00", "#3E9BCD"
_STROKES: tuple[Stroke, ...] = (
    (_RUST, "-."),
    (_BLUE, "--"),
    (_GREEN, ":"),
    (_PLUM, (0, (5, 1, 1, 1, 1, 1))),
    (_AMBER, (0, (8, 2))),
    (_SKY, (0, (1, 1))),
)
_INK, _PALE, _FAINT = "#222222", "#767676", "#DDDDDD"
_PRETTY = {"degC": "°C", "degF": "°F", "inch": "in", "J/m2": "J/m²", "kJ/m2": "kJ/m²", "BTU/ft2": "BTU/ft²"}
_TIME_LABEL = "time from lift-off [s]"


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
    figure = _figure(8.0, 6.4, title)
    rows = _time_rows(figure, 2, end=trace.time[-1], events=events)
    for row, lines in zip(rows, (("wall",), ("hottest", "mean", "coldest")), strict=True):
        for key, stroke in zip(lines, _SAMPLE_STROKES[lines[0]], strict=True):
            values, unit = _scaled(getattr(trace, key), "K", system)
            if key in {"wall", "mean"}:
                low, high = (_scaled(side, "K", system)[0] for side in bracket(traces, trace.time, key))
                _shade(row, trace.time, low, high, label=f"bracket: {_SAMPLE_WORDS[key]}")
            _line(row, trace.time, values, label=_SAMPLE_WORDS[key], stroke=stroke)
        if warm_above is not None and len(lines) > 1:
            level = f"warm above {text(warm_above, 'K', system)}".replace("deg", "°")
            _level(row, float(_scaled(np.array(warm_above), "K", system)[0]), level)
        row[0].set_ylabel(f"{'wall' if len(lines) == 1 else 'sample'} temperature [{unit}]")
    _legend_below(figure, [row[0] for row in rows], columns=3)
    return _saved(figure, folder, name)


_SAMPLE_WORDS = {
    "wall": "hottest wall",
    "hottest": "sample, hottest",
    "mean": "sample, mean",
    "coldest": "sample, coldest",
}
_SAMPLE_STROKES = {"wall": ((_RUST, "-"),), "hottest": ((_RUST, "--"), (_INK, "-"), (_BLUE, "-."))}


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
    """Draw the energy in the sample for each flow state; the legend gives the peaks, highest first."""
    centre = trace_of(traces, expected)
    figure = _figure(8.0, 4.6, title)
    [row] = _time_rows(figure, 1, end=centre.time[-1], events=events)
    low, high = (_scaled(side, "J", system)[0] for side in bracket(traces, centre.time, "energy"))
    _shade(row, centre.time, low, high, label="bracket of the states")
    ranked = sorted(traces, key=lambda one: -float(one.energy.max()))
    strokes = iter(_STROKES * (1 + len(traces) // len(_STROKES)))
    for rank, trace in enumerate(ranked):
        values, unit = _scaled(trace.energy, "J", system)
        words = [word for word, is_so in _RANKS if is_so(rank, len(ranked), trace is centre)]
        peak = f"peak {float(values.max()):.4g} {unit}"
        label = f"{trace.state}: {', '.join([peak, *words])}"
        stroke = (_INK, "-") if trace is centre else next(strokes)
        _line(row, trace.time, values, label=label, stroke=stroke, width=2.4 if trace is centre else 1.3)
    row[0].set_ylabel(f"energy in the sample [{unit}]")
    _legend_below(figure, row[:1], columns=2)
    return _saved(figure, folder, name)


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
    figure = _figure(8.0, 5.2, title)
    above, below = _time_rows(figure, 2, end=flight.time[-1], events=events)
    values, unit = _scaled(flight.altitude, "altitude", system)
    _line(above, flight.time, values, label="", stroke=(_BLUE, "-"))
    above[0].set_ylabel(f"altitude above sea level [{unit}]")
    _line(below, flight.time, flight.mach, label="", stroke=(_RUST, "-"))
    below[0].set_ylabel("Mach number")
    return _saved(figure, folder, name)


def plot_section(
    section: Section,
    instants: Sequence[tuple[str, FloatArray]],
    *,
    folder: Path,
    name: str = "section.png",
    title: str = "",
    system: System = System.METRIC,
) -> Path:
    """Draw the whole section coloured by temperature, a strip for each (title, nodal temperature [K])."""
    points, unit = _scaled(section.points, "m", system)
    fields = [_scaled(field, "K", system) for _, field in instants]
    r, z = points.T
    height = 7.0 * 2.2 * float(r.max()) / max(float(np.ptp(z)), 1e-9)
    figure = _figure(8.4, 1.7 + (height + 0.2) * len(instants), title, layout="compressed")
    axes = figure.subplots(len(instants), 1, sharex=True, squeeze=False)[:, 0]
    edges = part_edges(section)
    low, high = (float(side([side(values) for values, _ in fields])) for side in (np.min, np.max))
    corners = triangles(section)
    for axis, (label, _), (values, _) in zip(axes, instants, fields, strict=True):
        for side in (1.0, -1.0):
            mesh = axis.tripcolor(
                Triangulation(z, side * r, corners), values, shading="gouraud", cmap="inferno",
                vmin=low, vmax=max(high, low + 1e-3),
            )  # fmt: skip
            lines = np.stack([z[edges], side * r[edges]], axis=-1)
            axis.add_collection(LineCollection(list(lines), colors="#8C8C8C", linewidths=0.7))
        axis.set_aspect("equal")
        axis.set_ylabel(f"r [{unit}]")
        axis.set_ylim(-1.1 * float(r.max()), 1.1 * float(r.max()))
        axis.yaxis.set_major_formatter(FuncFormatter(lambda value, _: f"{abs(value):g}"))
        axis.text(0.01, 0.05, _plain(label), transform=axis.transAxes, fontsize=9)
    _label_parts(axes[0], section, points)
    axes[-1].set_xlabel(f"z aft of the nose point [{unit}]")
    bar = figure.colorbar(mesh, ax=list(axes), location="bottom", aspect=50, shrink=0.8, pad=0.02)
    bar.set_label(f"temperature [{fields[0][1]}]")
    return _saved(figure, folder, name)


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
    figure = _figure(8.0, 5.6, title)
    axis = figure.subplots()
    _style(axis)
    (x, x_unit), (y, y_unit) = (_scaled(one.values, one.unit, system) for one in (across, up))
    axis.scatter(x[~on_front], y[~on_front], s=9, color="#BBBBBB", linewidths=0, label="beaten by another")
    for one in (across, up):
        if one.low is not None and one.high is not None:
            sides = [_scaled(side, one.unit, system)[0] for side in (one.low, one.values, one.high)]
            reach = np.maximum(np.diff(np.array(sides), axis=0)[:, on_front], 0.0)
            axis.errorbar(
                x[on_front], y[on_front], fmt="none", ecolor="#999999", elinewidth=0.7, label="its bracket",
                xerr=reach if one is across else None, yerr=reach if one is up else None,
            )  # fmt: skip
    shade = _BLUE if colour is None else _scaled(colour.values, colour.unit, system)[0][on_front]
    dots = axis.scatter(
        x[on_front], y[on_front], s=44, c=shade, cmap="cividis", edgecolors=_INK, linewidths=0.7, zorder=3,
        label="on the front",
    )  # fmt: skip
    if colour is not None:
        unit = _scaled(colour.values, colour.unit, system)[1]
        figure.colorbar(dots, ax=axis, pad=0.02).set_label(_label(colour.label, unit))
    for index, word in (chosen or {}).items():
        axis.scatter(x[index], y[index], s=150, facecolors="none", edgecolors=_RUST, linewidths=2.0, zorder=4)
        axis.annotate(
            _plain(word), (x[index], y[index]), xytext=(9, 9), textcoords="offset points", fontsize=9,
            bbox={"boxstyle": "round,pad=0.2", "facecolor": "white", "edgecolor": "none", "alpha": 0.85},
            zorder=5,
        )  # fmt: skip
    axis.set_xlabel(_label(across.label, x_unit))
    axis.set_ylabel(_label(up.label, y_unit))
    _legend_below(figure, [axis], columns=3)
    return _saved(figure, folder, name)


def _label_parts(axis: Axes, section: Section, points: FloatArray) -> None:
    """Write the parts' names in a row above the section, each with a line to the middle of its part."""
    middles = points[section.cells].mean(axis=1)
    found = {word: middles[section.parts == part] for part, word in section.part_names.items()}
    words = sorted(
        (word for word in found if len(found[word])), key=lambda word: np.median(found[word][:, 1])
    )
    top, length = float(points[:, 0].max()), float(points[:, 1].max())
    for number, word in enumerate(words):
        place = length * (number + 0.5) / len(words)
        aim = np.array([np.median(found[word][:, 0]), place])
        r, z = found[word][np.argmin(np.abs(found[word] - aim) @ [0.3, 1.0])]
        axis.annotate(
            _plain(word), (z, r), xytext=(place, 1.25 * top), ha="center", va="bottom", fontsize=8.5,
            arrowprops={"arrowstyle": "-", "color": _PALE, "linewidth": 0.8, "shrinkA": 1, "shrinkB": 0},
        )  # fmt: skip
        axis.plot(
            [z], [r], marker="o", markersize=3.0, color="white", markeredgecolor=_INK, markeredgewidth=0.7
        )


def _figure(width: float, height: float, title: str, *, layout: Layout = "constrained") -> Figure:
    figure = Figure(figsize=(width, height), dpi=DOTS_PER_INCH, layout=layout, facecolor="white")
    FigureCanvasAgg(figure)
    if title:
        figure.suptitle(_plain(title), fontsize=11, x=0.01, ha="left", color=_INK)
    return figure


def _saved(figure: Figure, folder: Path, name: str) -> Path:
    stream = io.BytesIO()
    figure.savefig(stream, format="png", metadata={"Software": None})
    return write_bytes(folder, name, stream.getvalue())


def _time_rows(figure: Figure, count: int, *, end: float, events: Mapping[str, float]) -> list[list[Axes]]:
    """Return the axes by row, one column each for the climb and, on another scale, for what follows it."""
    apogee = events.get("apogee", end)
    spans = [(0.0, apogee), (apogee, end)] if 0.0 < apogee < 0.6 * end else [(0.0, end)]
    ratios = [3.0, 2.0][: len(spans)]
    grid = figure.subplots(
        count, len(spans), sharex="col", sharey="row", squeeze=False, gridspec_kw={"width_ratios": ratios}
    )
    for column, (low, high) in zip(grid.T, spans, strict=True):
        for axis in column:
            _style(axis)
            axis.set_xlim(low, high)
            axis.xaxis.set_major_locator(MaxNLocator(6, prune="lower" if low > 0.0 else None))
        _mark_events(
            column, {word: time for word, time in events.items() if low < time <= high and time < end}
        )
        column[-1].set_xlabel(_TIME_LABEL)
    if len(spans) > 1:
        grid[-1, 1].set_xlabel(f"{_TIME_LABEL}, other scale")
        for axis in grid[:, 1]:
            axis.set_facecolor("#F6F6F6")
    return [list(row) for row in grid]


def _mark_events(column: Sequence[Axes], events: Mapping[str, float]) -> None:
    low, high = column[0].get_xlim()
    groups: list[tuple[float, list[str]]] = []
    for word, time in sorted(events.items(), key=lambda one: one[1]):
        for axis in column:
            axis.axvline(time, color=_PALE, linewidth=0.8, linestyle=(0, (3, 3)), zorder=1)
        if groups and time - groups[-1][0] < 0.05 * (high - low):
            groups[-1][1].append(word)
        else:
            groups.append((time, [word]))
    for time, words in groups:
        note = column[0].annotate(
            _plain(", ".join(words)), (time, 1.0), xycoords=("data", "axes fraction"), xytext=(0, 3),
            textcoords="offset points", rotation=30, fontsize=8, color=_INK, ha="left", va="bottom",
            rotation_mode="anchor",
        )  # fmt: skip
        note.set_in_layout(False)
    # room above for the slanted words, which the layout would else find on their right too
    column[0].set_title(" ", fontsize=8, pad=34)


def _legend_below(figure: Figure, axes: Sequence[Axes], *, columns: int) -> None:
    """Write one legend for several axes under the picture, where it covers nothing."""
    found: dict[str, Artist] = {}
    for axis in axes:
        for handle, label in zip(*axis.get_legend_handles_labels(), strict=True):
            found.setdefault(label, handle)
    figure.legend(
        list(found.values()), list(found), loc="outside lower center", ncols=columns, fontsize=8,
        frameon=False, handlelength=3.2,
    )  # fmt: skip


def _style(axis: Axes) -> None:
    axis.grid(color=_FAINT, linewidth=0.6)
    axis.set_axisbelow(True)
    axis.spines[["top", "right"]].set_visible(False)
    axis.tick_params(labelsize=9)


def _line(
    row: Sequence[Axes], x: FloatArray, y: FloatArray, *, label: str, stroke: Stroke, width: float = 1.7
) -> None:
    colour, dashes = stroke
    for axis in row:
        axis.plot(x, y, color=colour, linestyle=dashes, linewidth=width, label=_plain(label))


def _shade(row: Sequence[Axes], x: FloatArray, low: FloatArray, high: FloatArray, *, label: str) -> None:
    for axis in row:
        axis.fill_between(x, low, high, color="#B9C7D6", alpha=0.6, linewidth=0.0, label=label, zorder=1)


def _level(row: Sequence[Axes], value: float, label: str) -> None:
    for axis in row:
        axis.axhline(value, color=_GREEN, linewidth=1.1, linestyle=(0, (1, 2)), label=label)


def _scaled(values: FloatArray, unit: str, system: System) -> tuple[FloatArray, str]:
    (zero, word), (one, _) = shown(0.0, unit, system), shown(1.0, unit, system)
    return zero + np.asarray(values) * (one - zero), _PRETTY.get(word, word)


def _label(words: str, unit: str) -> str:
    return _plain(f"{words} [{unit}]" if unit else words)


def _plain(words: str) -> str:
    """Return ``words`` in one line, with the sign that would begin a formula taken as itself."""
    return "".join(letter if letter.isprintable() else " " for letter in words).replace("$", r"\$")
