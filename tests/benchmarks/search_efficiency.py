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
import time
from pathlib import Path

for _name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ[_name] = "1"  # before numpy is imported

import numpy as np
from search_problem import Judge, Problem, coastal
from search_ways import WAYS

from optitip.search.pareto import hypervolume, non_dominated

STEPS = (100, 200, 300, 500, 700, 1000, 1500, 2000, 3000, 4000, 6000, 8000, 12000, 20000)
SHARES = (0.8, 0.9, 0.95, 0.98)
BEYOND = 0.1  # of the reference front's reach: where the volume ends behind it


def main() -> None:
    """Run what is missing and print the table."""
    asked = _arguments().parse_args()
    asked.out.mkdir(parents=True, exist_ok=True)
    problem = coastal()
    if not asked.table:
        for seed in range(1, asked.seeds + 1):
            for name, budget in _budgets(asked).items():
                _run(problem, name, seed=seed, budget=budget, folder=asked.out)
    sys.stdout.write("\n".join(table(asked.out, ways=asked.ways)) + "\n")


def _arguments() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(description="Hypervolume by evaluations and CPU time.")
    parser.add_argument("--out", type=Path, required=True, help="where evaluations and runs are kept")
    parser.add_argument("--seeds", type=int, default=10)
    parser.add_argument("--ways", nargs="*", default=tuple(WAYS), choices=tuple(WAYS))
    parser.add_argument("--evaluations", type=int, help="of each run; else as many as its way is given")
    parser.add_argument("--table", action="store_true", help="only print what is there")
    return parser


def _budgets(asked: argparse.Namespace) -> dict[str, int]:
    return {name: asked.evaluations or WAYS[name].evaluations for name in asked.ways}


def _run(problem: Problem, name: str, *, seed: int, budget: int, folder: Path) -> None:
    """Search and keep the run: a row an evaluation, with the CPU time of it and of choosing it."""
    path = folder / f"{name}_{seed}.npz"
    if path.exists() and len(np.load(path)["seconds"]) >= budget:
        return
    way = WAYS[name](problem, seed=seed, budget=budget)
    points, rows, own, spent = [], [], [], []
    with Judge(problem, folder / "evaluations.sqlite") as judge:
        while len(spent) < budget:
            begin = time.process_time()
            designs = way.ask()[: budget - len(spent)]
            choosing = time.process_time() - begin
            told = judge.evaluate(designs)
            begin = time.process_time()
            way.tell(designs, told.components, told.answered)
            choosing += time.process_time() - begin
            points.append(problem.space.points_of(designs))
            rows.append(told.components)
            spent.extend(told.seconds)
            own.extend([choosing / len(designs)] * len(designs))
            if not designs:
                break
    np.savez_compressed(
        path,
        points=np.vstack(points),
        components=np.vstack(rows),
        seconds=np.array(spent),
        own=np.array(own),
    )
    sys.stderr.write(f"{name}, seed {seed}: {sum(spent):.0f} s + {sum(own):.1f} s CPU\n")


def table(folder: Path, *, ways) -> list[str]:
    """Return the tables as lines of Markdown."""
    problem = coastal()
    with Judge(problem, folder / "evaluations.sqlite") as judge:
        everything = judge.front()
    low, reach = everything.min(axis=0), np.ptp(everything, axis=0)
    scale = (low, reach)
    whole = _volume(everything, scale)
    lines = [f"Reference: {len(everything)} members, of every design evaluated here.", ""]
    shares, reached = [], []
    for name in ways:
        runs = [np.load(path) for path in sorted(folder.glob(f"{name}_*.npz"))]
        if not runs:
            continue
        courses = [_course(problem, run, scale=scale, whole=whole) for run in runs]
        shares.append([f"{name} ({len(runs)})", *(_median([c.get(step) for c in courses]) for step in STEPS)])
        reached.append([name, *_reached(problem, runs, scale=scale, whole=whole)])
    header = ["share of the reference's volume after", *(f"{step}" for step in STEPS)]
    lines += [_row(header), _row(["---"] * len(header)), *(_row(row) for row in shares), ""]
    header = ["evaluations (CPU s, own CPU in it) to", *(f"{share:.0%}" for share in SHARES)]
    return [*lines, _row(header), _row(["---"] * len(header)), *(_row(row) for row in reached)]


def _row(cells) -> str:
    return "| " + " | ".join(cells) + " |"


def _course(problem: Problem, run, *, scale, whole: float) -> dict[int, float]:
    cost = problem.cost_of_feasible(run["components"])
    return {step: _volume(cost[:step], scale) / whole for step in STEPS if step <= len(run["seconds"])}


def _volume(cost, scale) -> float:
    kept = cost[np.isfinite(cost).all(axis=1)]
    low, reach = scale
    if len(kept) == 0:
        return 0.0
    front = kept[non_dominated(kept)]
    return hypervolume((front - low) / reach, reference=np.full(cost.shape[1], 1.0 + BEYOND))


def _median(values) -> str:
    known = [value for value in values if value is not None]
    return "-" if not known else f"{np.median(known):.3f}"


def _reached(problem: Problem, runs, *, scale, whole: float) -> list[str]:
    """Return the median evaluations and CPU time to each share; infinite for a run that never got there."""
    cells = []
    for share in SHARES:
        found = [_first(problem, run, share=share, scale=scale, whole=whole) for run in runs]
        middle = np.median([count for count, _, _ in found])
        if not np.isfinite(middle):
            cells.append(f"more than {min(len(run['seconds']) for run in runs)}")
            continue
        spent, own = (np.median([one[column] for one in found]) for column in (1, 2))
        cells.append(f"{middle:.0f} ({spent:.1f}, {own:.1f})")
    return cells


def _first(problem: Problem, run, *, share: float, scale, whole: float) -> tuple[float, float, float]:
    """Return evaluations, CPU time and own CPU time to a share of the volume, by halving."""
    cost = problem.cost_of_feasible(run["components"])
    if _volume(cost, scale) < share * whole:
        return np.inf, np.inf, np.inf
    low, high = 0, len(cost)
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if _volume(cost[:middle], scale) >= share * whole else (middle, high)
    own = run["own"][:high].sum()
    return high, run["seconds"][:high].sum() + own, own


if __name__ == "__main__":
    main()
