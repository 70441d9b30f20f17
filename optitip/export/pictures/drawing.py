"""What every picture is drawn with (matplotlib's Agg canvas alone): palette, axes of time, legend, PNG.

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
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator

from optitip.arrays import FloatArray
from optitip.export.files import one_line, write_bytes
from optitip.units import System, shown

Layout: TypeAlias = Literal["constrained", "compressed"]
Stroke: TypeAlias = tuple[str, str | tuple[int, tuple[int, ...]]]

DOTS_PER_INCH = 150
# Okabe and Ito's palette, dark ones first
BLUE, RUST, GREEN, PLUM, AMBER, SKY = "#0072B2", "#C04A00", "#007A5E", "#A0477F", "#D58A00", "#3E9BCD"
STROKES: tuple[Stroke, ...] = (
    (RUST, "-."),
    (BLUE, "--"),
    (GREEN, ":"),
    (PLUM, (0, (5, 1, 1, 1, 1, 1))),
    (AMBER, (0, (8, 2))),
    (SKY, (0, (1, 1))),
)
INK, PALE, FAINT = "#222222", "#767676", "#DDDDDD"
_PRETTY = {"degC": "°C", "degF": "°F", "inch": "in", "J/m2": "J/m²", "kJ/m2": "kJ/m²", "BTU/ft2": "BTU/ft²"}
_PRETTY |= {"W/(m2 K)": "W/(m² K)", "BTU/(h ft2 degF)": "BTU/(h ft² °F)"}
_MINUTES_FROM = 120.0  # [s] of waiting
_TOO_NEAR = 0.08  # of an axis: closer events share one word's place
_LEANS_LEFT = 0.12  # of the column's width
_TIME_LABEL = "time from lift-off [s]"
_OTHER_SCALE = f"{_TIME_LABEL}, other scale"


def new_figure(width: float, height: float, title: str, *, layout: Layout = "constrained") -> Figure:
    """Return an empty picture with its title on the upper left."""
    figure = Figure(figsize=(width, height), dpi=DOTS_PER_INCH, layout=layout, facecolor="white")
    FigureCanvasAgg(figure)
    if title:
        figure.suptitle(plain(title), fontsize=11, x=0.01, ha="left", color=INK)
    return figure


def save_figure(figure: Figure, folder: Path, name: str) -> Path:
    """Write the picture as PNG, the same bytes each time, and return its path."""
    stream = io.BytesIO()
    figure.savefig(stream, format="png", metadata={"Software": None})
    return write_bytes(folder, name, stream.getvalue())


def time_rows(
    figure: Figure,
    count: int,
    *,
    start: float = 0.0,
    end: float,
    events: Mapping[str, float],
    heights: Sequence[float] | None = None,
) -> list[list[Axes]]:
    """Return the axes by row, a column each for the climb and, on scales of their own, for what is around it.

    ``heights`` are the rows' shares, alike unless given. ``start`` below 0 adds a narrow column ahead of
    lift-off; what follows the apogee has one aft of it.
    """
    apogee = events.get("apogee", end)
    spans = [(0.0, apogee), (apogee, end)] if 0.0 < apogee < 0.6 * end else [(0.0, end)]
    ratios = [3.0, 2.0][: len(spans)]
    if start < 0.0:
        # cut short of lift-off, where the flight's own rise would stand as a line at its edge
        spans, ratios = [(start, 0.015 * start), *spans], [1.0, *ratios]
    grid = figure.subplots(
        count, len(spans), sharex="col", sharey="row", squeeze=False,
        gridspec_kw={"width_ratios": ratios, "height_ratios": heights},
    )  # fmt: skip
    for column, (low, high) in zip(grid.T, spans, strict=True):
        for axis in column:
            style_axis(axis)
            axis.set_xlim(low, high)
            if low < 0.0:
                _mark_wait(axis, low)
            else:
                axis.xaxis.set_major_locator(MaxNLocator(6, prune="lower" if low > 0.0 else None))
        mark_events(
            column, {word: time for word, time in events.items() if low < time <= high and time < end}
        )
        column[-1].set_xlabel(_TIME_LABEL if low == 0.0 else _pad_label(low) if low < 0.0 else _OTHER_SCALE)
        for axis in column if low != 0.0 else ():
            axis.set_facecolor("#F6F6F6")
    return [list(row) for row in grid]


def _mark_wait(axis: Axes, start: float) -> None:
    """Mark the few times [s] that a narrow axis ahead of lift-off has room for, long waits in minutes."""
    unit = 60.0 if start < -_MINUTES_FROM else 1.0
    times = unit * np.asarray(MaxNLocator(3 if unit > 1.0 else 2).tick_values(start / unit, 0.0))
    times = times[(times > start) & (times < 0.0)]
    axis.set_xticks(times, [f"{time / unit:g}".replace("-", "\N{MINUS SIGN}") for time in times])


def _pad_label(start: float) -> str:
    return f"on the pad [{'min' if start < -_MINUTES_FROM else 's'}]"


def mark_events(column: Sequence[Axes], events: Mapping[str, float]) -> None:
    """Draw each event down a column of axes, its word slanted above."""
    low, high = column[0].get_xlim()
    groups: list[tuple[float, list[str]]] = []
    for word, time in sorted(events.items(), key=lambda one: one[1]):
        for axis in column:
            axis.axvline(time, color=PALE, linewidth=0.8, linestyle=(0, (3, 3)), zorder=1)
        if groups and time - groups[-1][0] < _TOO_NEAR * (high - low):
            groups[-1][1].append(word)
        else:
            groups.append((time, [word]))
    for time, words in groups:
        # near the right end a word leans left, or the picture's edge would cut it
        ends = time > high - _LEANS_LEFT * (high - low)
        note = column[0].annotate(
            plain(", ".join(words)), (time, 1.0), xycoords=("data", "axes fraction"), xytext=(0, 3),
            textcoords="offset points", rotation=-30 if ends else 30, fontsize=8, color=INK,
            ha="right" if ends else "left", va="bottom", rotation_mode="anchor",
        )  # fmt: skip
        note.set_in_layout(False)
    # room above for the slanted words, which the layout would else find on their right too
    column[0].set_title(" ", fontsize=8, pad=34)


def legend_below(figure: Figure, axes: Sequence[Axes], *, columns: int) -> None:
    """Write one legend for several axes under the picture, where it covers nothing."""
    found: dict[str, Artist] = {}
    for axis in axes:
        for handle, label in zip(*axis.get_legend_handles_labels(), strict=True):
            found.setdefault(label, handle)
    figure.legend(
        list(found.values()), list(found), loc="outside lower center", ncols=columns, fontsize=8,
        frameon=False, handlelength=3.2,
    )  # fmt: skip


def style_axis(axis: Axes) -> None:
    """Give an axis its grid and take the frame's upper and right side off."""
    axis.grid(color=FAINT, linewidth=0.6)
    axis.set_axisbelow(True)
    axis.spines[["top", "right"]].set_visible(False)
    axis.tick_params(labelsize=9)


def draw_line(
    row: Sequence[Axes], x: FloatArray, y: FloatArray, *, label: str, stroke: Stroke, width: float = 1.7
) -> None:
    """Draw one line across the axes of a row."""
    colour, dashes = stroke
    for axis in row:
        axis.plot(x, y, color=colour, linestyle=dashes, linewidth=width, label=plain(label))


def draw_shade(row: Sequence[Axes], x: FloatArray, low: FloatArray, high: FloatArray, *, label: str) -> None:
    """Shade the band between two lines across the axes of a row."""
    for axis in row:
        axis.fill_between(x, low, high, color="#B9C7D6", alpha=0.6, linewidth=0.0, label=label, zorder=1)


def draw_level(row: Sequence[Axes], value: float, label: str) -> None:
    """Draw a level with its name across the axes of a row."""
    for axis in row:
        axis.axhline(value, color=GREEN, linewidth=1.1, linestyle=(0, (1, 2)), label=label)


def scaled(values: FloatArray, unit: str, system: System) -> tuple[FloatArray, str]:
    """Return SI values of a kind as a person reads them, with their unit."""
    (zero, word), (one, _) = shown(0.0, unit, system), shown(1.0, unit, system)
    return zero + np.asarray(values) * (one - zero), _PRETTY.get(word, word)


def label_of(words: str, unit: str) -> str:
    """Return an axis' label: words and unit."""
    return plain(f"{words} [{unit}]" if unit else words)


def plain_lines(lines: Sequence[str]) -> str:
    """Return lines under each other, those that are empty left out, each as ``plain``."""
    return "\n".join(plain(line) for line in lines if line)


def plain(words: str) -> str:
    """Return ``words`` in one line, with the sign that would begin a formula taken as itself."""
    return one_line(words).replace("$", r"\$")
