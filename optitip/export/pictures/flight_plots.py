"""A picture of a map of flights: the target's metric over Mach number or motor and burn, a panel a build."""

from collections.abc import Sequence
from pathlib import Path

import numpy as np
from matplotlib.axes import Axes

from optitip.arrays import FloatArray
from optitip.evaluate.flight_map import Build, Cell, Plan, Reach
from optitip.export.pictures.drawing import (
    BLUE,
    GREEN,
    INK,
    PALE,
    RUST,
    label_of,
    legend_below,
    new_figure,
    plain,
    save_figure,
    scaled,
    style_axis,
)
from optitip.metrics.goals import Limit
from optitip.metrics.registry import LABELS
from optitip.units import System, text

_WIDE, _HIGH = 3.1, 2.7  # [inch] of a panel
_LEVELS = 7
_DASHES: dict[str, str | tuple[int, tuple[int, ...]]] = {
    "low": (0, (1, 2)),
    "expected": "-",
    "high": (0, (4, 2)),
}
_SHAPES = {
    Reach.EVERY: ("o", GREEN, "reached in every flow state"),
    Reach.EXPECTED: ("s", BLUE, "reached in the expected one"),
    Reach.BEST: ("^", RUST, "reached in the best one alone"),
    Reach.NONE: (".", INK, "reached in none"),
    Reach.NO_FLIGHT: ("x", PALE, "no such flight"),
}


def plot_flight_map(
    cells: Sequence[Cell], plan: Plan, *, folder: Path, name: str, title: str, system: System
) -> Path:
    """Draw a panel for each build: contours of the expected metric, the target's, and each flight run."""
    across = len({build.slab for build in plan.builds})
    down = -(-len(plan.builds) // across)
    figure = new_figure(_WIDE * across + 0.6, _HIGH * down + 1.2, title)
    panels = figure.subplots(down, across, squeeze=False, sharex=True, sharey=True)
    slabs = list(dict.fromkeys(build.slab for build in plan.builds))
    used: dict[float, int] = dict.fromkeys(slabs, 0)
    for build in plan.builds:
        column = slabs.index(build.slab)
        axis = panels[used[build.slab]][column]
        used[build.slab] += 1
        own = [one for one in cells if one.build == build]
        _panel(axis, own, plan.targets[0], title=_named(build, system), system=system)
    motors = bool(plan.courses[0].motor)
    for row in panels:
        row[0].set_ylabel(label_of("burn", "s"))
    for axis in panels[-1]:
        axis.set_xlabel("motor" if motors else "peak Mach number")
    if not motors:
        unit = next((scaled(np.zeros(1), one.value.unit, system)[1] for one in cells if one.value), "")
        _name_lines(panels[0][0], label_of(f"expected {LABELS[plan.targets[0].metric].strip()}", unit))
    legend_below(figure, [axis for row in panels for axis in row], columns=3)
    return save_figure(figure, folder, name)


def _name_lines(axis: Axes, metric: str) -> None:
    """Put the words of the lines into the legend."""
    axis.plot([], [], color=PALE, linewidth=0.9, label=plain(metric))
    for side, dashes in _DASHES.items():
        axis.plot([], [], color=RUST, linestyle=dashes, linewidth=2.0, label=f"its {side} meets the target")


def _named(build: Build, system: System) -> str:
    return plain(f"{text(build.slab, 'm', system, digits=3)}, {build.joint}")


def _panel(axis: Axes, cells: Sequence[Cell], target: Limit, *, title: str, system: System) -> None:
    axis.set_title(title, fontsize=10, color=INK)
    style_axis(axis)
    motors = list(dict.fromkeys(one.course.motor for one in cells if one.course.motor))
    places = [motors.index(one.course.motor) if motors else one.course.mach for one in cells]
    if motors:
        axis.set_xticks(range(len(motors)), [plain(one) for one in motors])
    else:
        _contours(axis, cells, target, system)
    for reach, (shape, colour, label) in _SHAPES.items():
        here = [(x, one.course.burn) for x, one in zip(places, cells, strict=True) if one.reach is reach]
        if here:
            x, y = np.array(here).T
            axis.scatter(x, y, marker=shape, color=colour, s=22, label=label, zorder=3, clip_on=False)
    axis.set_yscale("log")
    burns = sorted({one.course.burn for one in cells})
    axis.set_yticks(burns, [f"{one:.3g}" for one in burns])
    axis.minorticks_off()


def _contours(axis: Axes, cells: Sequence[Cell], target: Limit, system: System) -> None:
    """Draw lines of the expected metric, the target's own bold, those of low and high dashed."""
    machs = sorted({one.course.mach for one in cells})
    burns = sorted({one.course.burn for one in cells})
    unit = next((one.value.unit for one in cells if one.value is not None), None)
    if unit is None or len(machs) < 2 or len(burns) < 2:
        return
    wanted = scaled(np.array([target.value]), unit, system)[0]
    for side, dashes in _DASHES.items():
        grid = np.full((len(burns), len(machs)), np.nan)
        for one in cells:
            if one.value is not None:
                grid[burns.index(one.course.burn), machs.index(one.course.mach)] = getattr(one.value, side)
        shown, _ = scaled(grid, unit, system)
        if side == "expected":
            _lines(axis, machs, burns, shown)
        if np.nanmin(shown) < wanted[0] < np.nanmax(shown):
            axis.contour(
                machs, burns, shown, levels=wanted, colors=[RUST], linestyles=[dashes], linewidths=2.0
            )


def _lines(axis: Axes, machs: list[float], burns: list[float], grid: FloatArray) -> None:
    drawn = axis.contour(machs, burns, grid, levels=_LEVELS, colors=[PALE], linewidths=0.9)
    axis.clabel(drawn, fontsize=7, colors=INK)
