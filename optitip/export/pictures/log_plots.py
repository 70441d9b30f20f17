"""The picture of a recorder's log: what was recorded, what of it was used, what was left out."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from matplotlib.axes import Axes

from optitip.arrays import BoolArray, FloatArray
from optitip.export.pictures.drawing import (
    BLUE,
    GREEN,
    INK,
    PLUM,
    RUST,
    SKY,
    draw_line,
    label_of,
    legend_below,
    new_figure,
    plain,
    plain_lines,
    save_figure,
    scaled,
    time_rows,
)
from optitip.units import System

_DOTS = (SKY, GREEN, PLUM, BLUE)
_MARKS = (".", "x", "+", "1")
_BEFORE = 0.06  # of the climb's time is shown before lift-off
_MARGIN = 0.12  # of a row's height, above and below what is used
_STRIP = 0.5  # of a row's height: what was recorded less what is used
_MOST = 99.0  # per cent of what was recorded stands inside its strip


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Recorded:
    """One channel's samples (n,): ``time`` [s] from lift-off, SI ``values``, which of them were left out."""

    label: str
    time: FloatArray
    values: FloatArray
    left_out: BoolArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LogRow:
    """One quantity of the picture: what was recorded of it, and the line (m,) that is used."""

    label: str
    unit: str
    """as ``units.shown`` knows it"""
    recorded: tuple[Recorded, ...]
    time: FloatArray
    used: FloatArray


def plot_log(
    rows: Sequence[LogRow],
    *,
    events: Mapping[str, float],
    folder: Path,
    name: str = "log.png",
    title: str = "",
    system: System = System.METRIC,
) -> Path:
    """Draw each quantity over time: samples faint, the line used over them, samples left out marked.

    Below each that was recorded a strip shows how far the samples stand off the line, on a scale of its own.
    """
    end = max(float(row.time[-1]) for row in rows)
    start = -_BEFORE * events.get("apogee", end)
    marks = {"lift-off": 0.0, **{word: time for word, time in events.items() if word != "end"}}
    heights = [share for row in rows for share in ((1.0, _STRIP) if row.recorded else (1.0,))]
    figure = new_figure(8.0, 1.4 + 2.1 * sum(heights), title)
    grid = time_rows(figure, len(heights), start=start, end=end, events=marks, heights=heights)
    below = iter(grid)
    for row in rows:
        axes = next(below)
        line, unit = scaled(row.used, row.unit, system)
        shown = [scaled(one.values, row.unit, system)[0] for one in row.recorded]
        low, high = _reach(row, line, shown, start)
        for turn, (one, values) in enumerate(zip(row.recorded, shown, strict=True)):
            _dots(axes, one, np.clip(values, low, high), turn)
        draw_line(axes, row.time, line, label="used", stroke=(INK, "-"), width=1.0)
        for axis in axes:
            axis.set_ylim(low, high)
        unit = unit.replace("m/s2", "m/s²")
        axes[0].set_ylabel(label_of(row.label, unit))
        if row.recorded:
            _draw_strip(next(below), row, line, shown, unit)
    legend_below(figure, [axes[0] for axes in grid], columns=2)
    return save_figure(figure, folder, name)


def _draw_strip(
    axes: Sequence[Axes], row: LogRow, line: FloatArray, shown: Sequence[FloatArray], unit: str
) -> None:
    """Draw each channel's samples less the line used; the few that stand further off at the strip's edge."""
    seen = [
        ~one.left_out & (one.time >= row.time[0]) & (one.time <= row.time[-1]) & np.isfinite(values)
        for one, values in zip(row.recorded, shown, strict=True)
    ]
    off = [
        values[kept] - np.interp(one.time[kept], row.time, line)
        for one, values, kept in zip(row.recorded, shown, seen, strict=True)
    ]
    together = np.abs(np.concatenate(off))
    reach = max(1.3 * float(np.percentile(together, _MOST)) if together.size else 0.0, 1e-9)
    for turn, (one, kept, values) in enumerate(zip(row.recorded, seen, off, strict=True)):
        for axis in axes:
            axis.plot(
                one.time[kept], np.clip(values, -reach, reach), linestyle="none", alpha=0.6,
                marker=_MARKS[turn % len(_MARKS)], markersize=3.0, markeredgewidth=0.6,
                color=_DOTS[turn % len(_DOTS)],
            )  # fmt: skip
    for axis in axes:
        axis.axhline(0.0, color=INK, linewidth=0.8)
        axis.set_ylim(-1.1 * reach, 1.1 * reach)
    axes[0].set_ylabel(plain_lines(["recorded", label_of("less used", unit)]), fontsize=8)


def _reach(row: LogRow, line: FloatArray, shown: Sequence[FloatArray], start: float) -> tuple[float, float]:
    """Return the ends of a row's axis: what is used fits in, and spikes stand at its edge."""
    parts = [line]
    for one, values in zip(row.recorded, shown, strict=True):
        seen = ~one.left_out & (one.time >= start) & (one.time <= row.time[-1])
        parts.append(values[seen])
    together = np.concatenate(parts)
    low, high = float(together.min()), float(together.max())
    margin = _MARGIN * max(high - low, 1e-9)
    return low - margin, high + margin


def _dots(axes: Sequence[Axes], one: Recorded, values: FloatArray, turn: int) -> None:
    colour, mark = _DOTS[turn % len(_DOTS)], _MARKS[turn % len(_MARKS)]
    kept = ~one.left_out
    for axis in axes:
        axis.plot(
            one.time[kept], values[kept], linestyle="none", marker=mark, markersize=4.5, alpha=0.5,
            color=colour, markeredgewidth=0.6, label=plain(f"recorded: {one.label}"), zorder=1,
        )  # fmt: skip
        if one.left_out.any():
            axis.plot(
                one.time[one.left_out], values[one.left_out], linestyle="none", marker="x", markersize=5.0,
                color=RUST, markeredgewidth=1.1, label="left out", zorder=3,
            )  # fmt: skip
