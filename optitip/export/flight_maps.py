"""A map of flights as files: a table with units in its header, and a picture of what reaches the target."""

import csv
import io
from collections.abc import Sequence
from pathlib import Path

from optitip.evaluate.flight_map import Cell, Plan
from optitip.export.files import write_text
from optitip.export.pictures.flight_plots import plot_flight_map
from optitip.units import System, written

TABLE, PICTURE = "flights.csv", "flights.png"


def write_flight_map(
    cells: Sequence[Cell], plan: Plan, *, folder: Path, title: str, system: System = System.METRIC
) -> list[str]:
    """Write ``flights.csv`` and ``flights.png`` into ``folder``; return their names."""
    write_text(folder, TABLE, flight_table(cells, plan))
    plot_flight_map(cells, plan, folder=folder, name=PICTURE, title=title, system=system)
    return [TABLE, PICTURE]


def flight_table(cells: Sequence[Cell], plan: Plan) -> str:
    """Return a row for each flight with each build, in SI, units in the header."""
    metric = plan.targets[0].metric
    unit = next((written(one.value.unit) for one in cells if one.value is not None), "1")
    brackets = "" if unit == "1" else f" [{unit}]"
    header = ["motor", "peak mach", "burn [s]", "slab thickness [m]", "joint", "reached"]
    header += [f"{metric} {side}{brackets}" for side in ("low", "expected", "high")]
    header += ["smallest margin", "limits and margins held", "no answer because"]
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(header)
    for one in cells:
        course, value = one.course, one.value
        sides = (
            ["", "", ""]
            if value is None
            else [f"{side:.8g}" for side in (value.low, value.expected, value.high)]
        )
        writer.writerow(
            [
                course.motor, f"{course.mach:.6g}", f"{course.burn:.6g}", f"{one.build.slab:.6g}",
                one.build.joint, one.reach.value, *sides,
                "" if one.margin is None else f"{one.margin:.6g}",
                "" if value is None else ("yes" if one.sound else "no"), one.detail,
            ]
        )  # fmt: skip
    return out.getvalue()
