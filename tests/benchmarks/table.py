"""The table of speed, by one command: `python tests/benchmarks/table.py`.

Ratios of CPU time with errors, all rivals side by side on one mesh; what a fresh design costs from its
numbers to its metrics, stage by stage; growth with the batch and, asked for, with the unknowns.
"""

import argparse
import os
import sys
from collections.abc import Iterator
from pathlib import Path

for _name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ[_name] = "1"  # before numpy is imported

import fresh
import growth
import numpy as np
import ratios
import stressed
from marched import SIZES
from measuring import machine, say
from ours import Compiled, Plain, is_compiled

PACKAGES = ("numpy", "scipy", "numba", "scikit-fem", "sfepy", "fipy")
ROOT = Path(__file__).parents[2]
BEGIN, END = "<!-- speed -->", "<!-- end of speed -->"
SECTIONS = ("ratios", "fresh", "batch", "stress")
RECORDED_INSTANTS = 6
SMALL_RIVALS = ("scipy BDF", "scipy LSODA")


def main() -> None:
    """Measure and print."""
    asked = _arguments().parse_args()
    sections = []
    for lines in _sections(asked):
        sections.append("\n".join(lines) + "\n")
        sys.stdout.write(sections[-1] + "\n")
        sys.stdout.flush()
    text = "\n".join(sections)
    if asked.out is not None:
        asked.out.write_text(text, encoding="utf-8")
    if asked.markdown:
        _put_in_guide(text)
    if asked.record:
        _record()


def _sections(asked: argparse.Namespace) -> Iterator[list[str]]:
    """Yield the tables that were asked for, as they get ready."""
    yield ["Machine:", "", *(f"- {line}" for line in machine(*PACKAGES))]
    if "ratios" in asked.only:
        names = SMALL_RIVALS if asked.small else tuple(ratios.RIVALS)
        for size in ("small",) if asked.small else ("small", "medium"):
            yield _ratio_lines(ratios.rows_at(size, names=names, memory=not asked.small))
    if "fresh" in asked.only:
        yield _fresh_lines(20 if asked.small else 200)
    if "batch" in asked.only and is_compiled():
        yield _batch_lines(8 if asked.small else 64)
    if "stress" in asked.only:
        yield _stress_lines(stressed.rows(repeats=8 if asked.small else 30))
    if asked.growth:
        yield _growth_lines(largest=asked.growth)


def _arguments() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(description="Speed of the march beside general libraries.")
    parser.add_argument("--small", action="store_true", help="one mesh, scipy's methods, 20 designs")
    parser.add_argument("--only", nargs="*", default=SECTIONS, choices=SECTIONS, help="these tables alone")
    parser.add_argument("--growth", type=float, metavar="UNKNOWNS", help="growth up to so many unknowns too")
    parser.add_argument("--markdown", action="store_true", help="put the tables in DEVELOPERS.md")
    parser.add_argument("--record", action="store_true", help="put the ratio to BDF in recorded.toml")
    parser.add_argument("--out", type=Path, help="write what is printed to a file as well")
    return parser


def _put_in_guide(text: str) -> None:
    guide = ROOT / "DEVELOPERS.md"
    before, rest = guide.read_text(encoding="utf-8").split(BEGIN)
    _, after = rest.split(END)
    guide.write_text(f"{before}{BEGIN}\n\n{text}\n{END}{after}", encoding="utf-8")


def _record() -> None:
    """Put the ratio that the test holds half of beside it."""
    rows = ratios.rows_at("usual", names=("scipy BDF",), memory=False)
    times = {row.name: row.march for row in rows}
    ratio = times["scipy BDF"] / times[Plain.name]
    six = {row.name: row for row in stressed.rows() if row.instants == RECORDED_INSTANTS}
    beside = six["scikit-fem"].solve / (six["plain"].fresh or 1.0)
    path = Path(__file__).parent / "recorded.toml"
    lines = [line for line in path.read_text(encoding="utf-8").splitlines() if line.startswith("#")]
    lines += [f"ratio_to_bdf = {ratio:.2f}", f"ratio_to_scikit_fem = {beside:.0f}"]
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")


def _table(header: list[str], rows: list[list[str]]) -> list[str]:
    """Return a table in Markdown."""
    lines = [header, ["---"] * len(header), *rows]
    return ["| " + " | ".join(line) + " |" for line in lines]


def _ratio_lines(rows) -> list[str]:
    """Return the ratios of one mesh: each rival's CPU time over that of our two marches."""
    ours = {row.name: row.march for row in rows}
    compiled = ours.get(Compiled.name)
    header = ["march", "tolerance", "steps", "error: energy", "temperatures", "in space", "CPU", "by plain"]
    header += [] if compiled is None else ["by compiled"]
    header += [f"CPU at {ratios.ALLOWED.energy:g} %, {ratios.ALLOWED.temperature:g} K", "set-up", "memory"]
    lines = []
    for row in rows:
        setting = row.setting
        line = [
            row.name,
            f"{setting.tolerance:.2g} K",
            f"{setting.steps}",
            f"{setting.error.energy:.3f} %" + ("" if setting.kept else " (above ours)"),
            f"{setting.error.temperature:.3f} K",
            f"{setting.differs.energy:.2f} %, {setting.differs.temperature:.2f} K",
            _milliseconds(row.march),
            f"{row.march / ours[Plain.name]:.2f}",
        ]
        line += [] if compiled is None else [f"{row.march / compiled:.1f}"]
        line += [_milliseconds(row.allowed), _milliseconds(row.making)]
        line += ["-" if row.memory is None else f"{row.memory:.0f} MB"]
        lines.append(line)
    return [f"One flight, {rows[0].unknowns:,} unknowns", "", *_table(header, lines)]


def _fresh_lines(count: int) -> list[str]:
    """Return what fresh designs cost, by the plain march and by compiled batches."""
    kinds = {"plain": fresh.plain_costs}
    if is_compiled():
        kinds["compiled"] = fresh.compiled_costs
    header = ["march", "unknowns", "designs", *fresh.STAGES, "all in, median", "all in, 90 %"]
    lines = []
    for size, share in (("usual", 1.0), ("small", 0.25), ("medium", 0.1)):
        for kind, costs_of in kinds.items():
            say(f"{size}: fresh designs, {kind}")
            costs_of(8, seed=5, resolution=SIZES[size])  # first touches: imports, topologies, compiling
            costs = costs_of(max(int(share * count), 8), seed=7, resolution=SIZES[size])
            middle, most = np.percentile(costs.all_in(), [50.0, 90.0])
            unknowns = fresh.cases(1, seed=7, resolution=SIZES[size])[0].start.size
            stages = [_milliseconds(costs.median(name)) for name in fresh.STAGES]
            whole = [_milliseconds(middle), _milliseconds(most)]
            lines.append([kind, f"{unknowns:,}", f"{len(costs.all_in())}", *stages, *whole])
    return [
        "Fresh random designs, each on a flight of its own, one flow state, CPU",
        "",
        *_table(header, lines),
    ]


def _stress_lines(rows) -> list[str]:
    """Return what stress costs by the number of instants, each way."""
    theirs = {row.instants: row.solve for row in rows if row.name == "scikit-fem"}
    header = [
        "stress",
        "instants",
        "set-up",
        "solve",
        "wall",
        "all in, a fresh design",
        "by scikit-fem's movements",
    ]
    lines = [
        [
            row.name,
            f"{row.instants}",
            _milliseconds(row.setting_up),
            _milliseconds(row.solve),
            _milliseconds(row.wall),
            _milliseconds(row.all_in),
            f"1 / {theirs[row.instants] / (row.all_in or row.solve):.0f}",
        ]
        for row in rows
    ]
    return ["Stress of the study's shell, two load cases an instant, CPU", "", *_table(header, lines)]


def _batch_lines(largest: int) -> list[str]:
    times = growth.with_batch(largest=largest)
    lines = [[f"{size}", _milliseconds(spent)] for size, spent in times.items()]
    return [
        "Compiled march of fresh designs, 731 unknowns, by batch",
        "",
        *_table(["batch", "CPU a flight"], lines),
    ]


def _growth_lines(*, largest: float) -> list[str]:
    rows = growth.with_unknowns(largest=largest)
    names = list(rows[0][2])
    lines = [
        [f"{unknowns:,}", f"{width}", *(_milliseconds(times.get(name)) for name in names)]
        for unknowns, width, times in rows
    ]
    return [
        "Growth with the unknowns, CPU a march",
        "",
        *_table(["unknowns", "half-bandwidth", *names], lines),
    ]


def _milliseconds(seconds: float | None) -> str:
    return "-" if seconds is None else f"{1e3 * seconds:.3g} ms" if seconds < 1.0 else f"{seconds:.3g} s"


if __name__ == "__main__":
    main()
