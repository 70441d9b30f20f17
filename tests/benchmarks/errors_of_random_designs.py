"""Errors of random designs, by one command: `python tests/benchmarks/errors_of_random_designs.py`.

Each design is answered on the usual grid, on one with every cell cut in four both ways, and on the usual
grid with steps 64 times as tight; what differs is the grid's error and the steps'. The first flow states of a
search, the expected one told.
"""

import argparse
import os
import sys
import tempfile
from dataclasses import replace
from pathlib import Path
from unittest import mock

for _name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ[_name] = "1"  # before numpy is imported
sys.path.insert(0, str(Path(__file__).parents[1] / "problems"))

import numpy as np
from random_studies import random_designs

from optitip.errors import Outcome
from optitip.evaluate import assess as assessing
from optitip.evaluate.assess import assess
from optitip.geometry.topology import Resolution
from optitip.solvers.batch import march_batch

ENERGY = "sample.energy_peak"
KELVINS = (
    *(f"sample.temperature_{name}_peak" for name in ("coldest", "mean", "hottest")),
    *(f"{part}.temperature_peak" for part in ("band", "plug", "base")),
)
LEAST_RISE = 5.0
"""[K]: a sample that warms by less is judged by what this rise would hold."""


def main() -> None:
    """Measure and print."""
    asked = _arguments().parse_args()
    found, left_out = [], 0
    with tempfile.TemporaryDirectory() as folder:
        draws = random_designs(asked.seed, folder=Path(folder), each=2)
        for study, design in draws:
            usual = assess(study, design=design, searching=True)
            if usual.outcome is not Outcome.ANSWERED:
                continue
            if max(state.steps for state in usual.states.values()) > asked.most_steps:
                left_out += 1
                continue
            others = {}
            sys.stderr.write(f"{len(found)} of {asked.designs} are done\n")
            if asked.grid > 1:
                finer = Resolution().refined(asked.grid)
                others["grid"] = assess(study, design=design, searching=True, resolution=finer)
            if asked.steps > 1:
                others["steps"] = tightened(study, design, by=asked.steps)
            found.append({"usual": usual, **others})
            if len(found) == asked.designs:
                break
    sys.stdout.write(f"{left_out} designs that take more than {asked.most_steps} steps were left out\n")
    for kind in ("grid", "steps"):
        for line in _table(found, kind=kind):
            sys.stdout.write(line + "\n")


def tightened(study, design, *, by):
    """Return the assessment with a tolerance this many times as tight."""

    def march(cases):
        return march_batch([replace(case, tolerance=case.tolerance / by) for case in cases])

    with mock.patch.object(assessing, "march_batch", march):
        return assess(study, design=design, searching=True)


def errors_of(usual, other):
    """Return the error of each metric: the energy's as a share, temperatures [K]."""
    value = {name: usual.metrics[name].expected for name in (ENERGY, *KELVINS)}
    true = {name: other.metrics[name].expected for name in (ENERGY, *KELVINS)}
    rise = true["sample.temperature_mean_peak"] - other.metrics["sample.temperature_mean_lift_off"].expected
    scale = true[ENERGY] * max(1.0, LEAST_RISE / rise) if rise > 0.0 else np.inf
    errors = {name: abs(value[name] - true[name]) for name in KELVINS}
    return {ENERGY: abs(value[ENERGY] - true[ENERGY]) / scale if scale > 0.0 else 0.0, **errors}


def _table(found, *, kind):
    """Yield the lines of one table: the metric, median, 95th percentile and worst, dry and boiling apart."""
    rows = [one for one in found if kind in one and one[kind].outcome is Outcome.ANSWERED]
    lost = sum(kind in one for one in found) - len(rows)
    for boils in (False, True):
        chosen = [
            one for one in rows if (one["usual"].metrics["sample.energy_latent"].expected > 0.0) is boils
        ]
        if not chosen:
            continue
        errors = [errors_of(one["usual"], one[kind]) for one in chosen]
        worst_of = {name: max(range(len(chosen)), key=lambda n: errors[n][name]) for name in errors[0]}
        yield f"\n{kind}, {len(chosen)} designs {'that boil' if boils else 'that stay wet'}, {lost} lost"
        yield "| metric | median | 95th percentile | worst |\n|---|---|---|---|"
        for name in errors[0]:
            values = np.array([one[name] for one in errors])
            unit, factor = (" %", 100.0) if name == ENERGY else (" K", 1.0)
            said = [f"{factor * one:.2g}{unit}" for one in (*np.quantile(values, [0.5, 0.95]), values.max())]
            yield f"| {name} | {' | '.join(said)} |"
        for name, number in worst_of.items():
            sys.stderr.write(f"{kind} {name} {errors[number][name]:.3g}: {chosen[number]['usual'].design}\n")


def _arguments() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--designs", type=int, default=200, help="how many answered designs")
    parser.add_argument("--seed", type=int, default=301)
    parser.add_argument("--grid", type=int, default=4, help="cells cut in so many both ways; 1: left out")
    parser.add_argument("--steps", type=int, default=64, help="tolerance over this; 1: left out")
    parser.add_argument("--most-steps", type=int, default=10**9, help="a design that takes more is left out")
    return parser


if __name__ == "__main__":
    main()
