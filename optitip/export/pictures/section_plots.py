"""Pictures of the whole section coloured by a field, with the place that matters marked."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from matplotlib.axes import Axes
from matplotlib.collections import LineCollection
from matplotlib.ticker import FuncFormatter
from matplotlib.tri import Triangulation

from optitip.arrays import FloatArray
from optitip.export.pictures.drawing import BLUE, INK, PALE, new_figure, plain, save_figure, scaled
from optitip.export.pictures.traces import Section, part_edges, triangles
from optitip.units import System


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Field:
    """A quantity on the section: what it is, its SI unit, the colours it is shown in."""

    label: str
    unit: str
    colours: str


TEMPERATURE = Field(label="temperature", unit="K", colours="inferno")
STRESS = Field(label="von Mises stress", unit="Pa", colours="cividis")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Strip:
    """The section at one instant: nodal values (n_nodes,) in SI, and r and z [m] of a place to mark."""

    title: str
    values: FloatArray
    mark: tuple[float, float] | None = None


def plot_section(
    section: Section,
    strips: Sequence[Strip],
    *,
    folder: Path,
    field: Field = TEMPERATURE,
    name: str = "section.png",
    title: str = "",
    system: System = System.METRIC,
) -> Path:
    """Draw the whole section coloured by a field, a strip for each instant, all on one scale."""
    points, unit = scaled(section.points, "m", system)
    fields = [scaled(one.values, field.unit, system) for one in strips]
    r, z = points.T
    height = 7.0 * 2.2 * float(r.max()) / max(float(np.ptp(z)), 1e-9)
    figure = new_figure(8.4, 1.7 + (height + 0.2) * len(strips), title, layout="compressed")
    axes = figure.subplots(len(strips), 1, sharex=True, squeeze=False)[:, 0]
    edges = part_edges(section)
    low, high = (float(side([side(values) for values, _ in fields])) for side in (np.min, np.max))
    corners = triangles(section)
    for axis, strip, (values, _) in zip(axes, strips, fields, strict=True):
        for side in (1.0, -1.0):
            mesh = axis.tripcolor(
                Triangulation(z, side * r, corners), values, shading="gouraud", cmap=field.colours,
                vmin=low, vmax=max(high, low + 1e-3),
            )  # fmt: skip
            lines = np.stack([z[edges], side * r[edges]], axis=-1)
            axis.add_collection(LineCollection(list(lines), colors="#8C8C8C", linewidths=0.7))
        _mark(axis, strip, system)
        axis.set_aspect("equal")
        axis.set_ylabel(f"r [{unit}]")
        axis.set_ylim(-1.1 * float(r.max()), 1.1 * float(r.max()))
        axis.yaxis.set_major_formatter(FuncFormatter(lambda value, _: f"{abs(value):g}"))
        axis.text(0.01, 0.05, plain(strip.title), transform=axis.transAxes, fontsize=9)
    _label_parts(axes[0], section, points)
    axes[-1].set_xlabel(f"z aft of the nose point [{unit}]")
    bar = figure.colorbar(mesh, ax=list(axes), location="bottom", aspect=50, shrink=0.8, pad=0.02)
    bar.set_label(f"{field.label} [{fields[0][1]}]")
    return save_figure(figure, folder, name)


def _mark(axis: Axes, strip: Strip, system: System) -> None:
    """Ring the place of a strip that has one, on both sides of the axis."""
    if strip.mark is not None:
        (r, z), _ = scaled(np.array(strip.mark), "m", system)
        axis.plot([z, z], [r, -r], linestyle="", marker="o", markersize=11.0, markerfacecolor="none",
                  markeredgecolor=BLUE, markeredgewidth=1.8)  # fmt: skip


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
            plain(word), (z, r), xytext=(place, 1.25 * top), ha="center", va="bottom", fontsize=8.5,
            arrowprops={"arrowstyle": "-", "color": PALE, "linewidth": 0.8, "shrinkA": 1, "shrinkB": 0},
        )  # fmt: skip
        axis.plot(
            [z], [r], marker="o", markersize=3.0, color="white", markeredgecolor=INK, markeredgewidth=0.7
        )
