"""How much of the front each way of searching finds, by evaluations and by CPU time.

    python tests/benchmarks/search_efficiency.py --out FOLDER --seeds 10

On the coastal study, with heat and strength: quasi-random designs, another library's NSGA-II as it comes,
this package's own breeding, and its processes. Every evaluation is kept in the folder by its design, so
that a run that was stopped goes on, and no two runs evaluate the same design twice. The reference front is
that of everything in the folder.
"""

import argparse
import os
import sys
from pathlib import Path

for _name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ[_name] = "1"  # before numpy is imported

import numpy as np
from search_problem import Judge, Problem, Reference, coastal, reference_of
from search_ways import WAYS, searched

STEPS = (100, 200, 300, 500, 700, 1000, 1500, 2000, 3000, 4000, 6000, 8000, 12000, 20000)
SHARES = (0.8, 0.9, 0.95, 0.98)
RECORDED = Path(__file__).parent / "recorded_search.toml"


def main() -> None:
    """Run what is missing and print the table."""
    asked = _arguments().parse_args()
    asked.out.mkdir(parents=True, exist_ok=True)
    problem = coastal()
    if not asked.table:
        for seed in range(1, asked.seeds + 1):
            for name, budget in _budgets(asked).items():
                _run(problem, name, seed=seed, budget=budget, folder=asked.out)
    sys.stdout.write("\n".join(table(asked.out, ways=asked.ways, record=asked.record)) + "\n")


def _arguments() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(description="Hypervolume by evaluations and CPU time.")
    parser.add_argument("--out", type=Path, required=True, help="where evaluations and runs are kept")
    parser.add_argument("--seeds", type=int, default=10)
    parser.add_argument("--ways", nargs="*", default=tuple(WAYS), choices=tuple(WAYS))
    parser.add_argument("--evaluations", type=int, help="of each run; else as many as its way is given")
    parser.add_argument("--table", action="store_true", help="only print what is there")
    parser.add_argument(
        "--record", action="store_true", help="put what the test holds in recorded_search.toml"
    )
    return parser


def _budgets(asked: argparse.Namespace) -> dict[str, int]:
    return {name: asked.evaluations or WAYS[name].evaluations for name in asked.ways}


def _run(problem: Problem, name: str, *, seed: int, budget: int, folder: Path) -> None:
    """Search and keep the run: a row an evaluation, with the CPU time of it and of choosing it."""
    path = folder / f"{name}_{seed}.npz"
    if path.exists() and len(np.load(path)["seconds"]) >= budget:
        return
    with Judge(problem, folder / "evaluations.sqlite") as judge:
        run = searched(problem, WAYS[name], seed=seed, budget=budget, judge=judge)
    np.savez_compressed(path, **run)
    spent, own = run["seconds"].sum(), run["own"].sum()
    sys.stderr.write(f"{name}, seed {seed}: {spent:.0f} s + {own:.1f} s CPU\n")


def table(folder: Path, *, ways, record: bool = False) -> list[str]:
    """Return the tables as lines of Markdown."""
    problem = coastal()
    with Judge(problem, folder / "evaluations.sqlite") as judge:
        front = judge.front()
    reference = reference_of(front)
    lines = [f"Reference: {len(front)} members, of every design evaluated here.", ""]
    shares, reached, medians = [], [], {}
    for name in ways:
        runs = [np.load(path) for path in sorted(folder.glob(f"{name}_*.npz"))]
        if not runs:
            continue
        courses = [_course(problem, run, reference) for run in runs]
        shares.append([f"{name} ({len(runs)})", *(_median([c.get(step) for c in courses]) for step in STEPS)])
        medians[name] = [_reached(problem, runs, reference, share=share) for share in SHARES]
        reached.append([name, *(_cell(one) for one in medians[name])])
    header = ["share of the reference's volume after", *(f"{step}" for step in STEPS)]
    lines += [_row(header), _row(["---"] * len(header)), *(_row(row) for row in shares), ""]
    header = ["evaluations (CPU s, own CPU in it) to", *(f"{share:.0%}" for share in SHARES)]
    lines += [_row(header), _row(["---"] * len(header)), *(_row(row) for row in reached)]
    if record:
        RECORDED.write_text("\n".join(_recorded(reference, medians)) + "\n", encoding="utf-8")
    return lines


def _recorded(reference: Reference, medians):
    """Yield what the test beside holds a search to."""
    yield "# The reference front of the coastal study and the median evaluations to shares of its volume, as"
    yield "# `python tests/benchmarks/search_efficiency.py --out FOLDER --record` found them."
    yield f"low = {reference.low.tolist()}"
    yield f"reach = {reference.reach.tolist()}"
    yield f"volume = {reference.volume!r}"
    yield "[evaluations]"
    for name, found in medians.items():
        told = [f"{one[0]:.0f}" if np.isfinite(one[0]) else "inf" for one in found]
        yield f"{name} = [{', '.join(told)}] # to {', '.join(f'{share:.0%}' for share in SHARES)}"


def _row(cells) -> str:
    return "| " + " | ".join(cells) + " |"


def _course(problem: Problem, run, reference: Reference) -> dict[int, float]:
    cost = problem.cost_of_feasible(run["components"])
    return {step: reference.share(cost[:step]) for step in STEPS if step <= len(cost)}


def _median(values) -> str:
    """Return the median of runs that all went so far."""
    return "-" if None in values else f"{np.median(values):.3f}"


def _cell(found) -> str:
    count, spent, own = found
    return f"{count:.0f} ({spent:.1f}, {own:.1f})" if np.isfinite(count) else "more"


def _reached(problem: Problem, runs, reference: Reference, *, share: float) -> tuple[float, float, float]:
    """Return the medians of evaluations, CPU time, own CPU time to a share; infinite if a run ends short."""
    found = [_first(problem, run, reference, share=share) for run in runs]
    count, spent, own = (float(np.median([one[column] for one in found])) for column in range(3))
    return count, spent, own


def _first(problem: Problem, run, reference: Reference, *, share: float) -> tuple[float, float, float]:
    """Return evaluations, CPU time and own CPU time to a share of the volume, by halving."""
    cost = problem.cost_of_feasible(run["components"])
    if reference.share(cost) < share:
        return np.inf, np.inf, np.inf
    low, high = 0, len(cost)
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if reference.share(cost[:middle]) >= share else (middle, high)
    own = run["own"][:high].sum()
    return high, run["seconds"][:high].sum() + own, own


if __name__ == "__main__":
    main()
