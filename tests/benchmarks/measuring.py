"""CPU time side by side, each rival's setting that is as exact as ours, and the machine it all ran on."""

import os
import platform
import subprocess
import sys
import time
from collections.abc import Callable, Hashable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import Protocol, TypeVar

from marched import Course, Error, Marched, apart, figures

REFERENCE = 16.0  # how many times tighter than any setting in use a rival's own reference is


_Name = TypeVar("_Name", bound=Hashable)


class Rival(Protocol):
    """One way to march the body."""

    name: str
    first: float
    """[K] the coarsest tolerance to try"""
    tight: float
    """[K] the tolerance of its own reference"""
    marched: Marched

    def run(self, tolerance: float):
        """Return the answer in the rival's own form at a tolerance [K]: what is timed."""

    def read(self, answer) -> Course:
        """Return the answer as a course: what isn't timed."""


@dataclass(frozen=True, kw_only=True)
class Setting:
    """The coarsest tolerance [K] of a rival whose error is as small as ours, or the finest that was tried.

    kept: whether it is as small. differs: how far the rival's own reference is from ours: its error in space.
    """

    tolerance: float
    steps: int
    error: Error
    kept: bool
    differs: Error


def say(what: str) -> None:
    """Tell whoever waits what is being measured."""
    sys.stderr.write(f"{what}\n")
    sys.stderr.flush()


def timed(run: Callable[[], object]) -> float:
    """Return the CPU time of one call [s]."""
    start = time.process_time()
    run()
    return time.process_time() - start


def side_by_side(
    runs: Mapping[_Name, Callable[[], object]], *, repeats: int, patience: float = 3.0
) -> dict[_Name, float]:
    """Return the best CPU time of each [s], each run in turn, so that a busy spell of the machine meets all.

    patience: [s] after which a slow one isn't run again.
    """
    spent = {name: [timed(run)] for name, run in runs.items()}
    for _ in range(repeats - 1):
        for name, run in runs.items():
            if sum(spent[name]) < patience:
                spent[name].append(timed(run))
    return {name: min(times) for name, times in spent.items()}


def settings_as_exact(
    rival: Rival,
    *,
    bounds: Sequence[Error],
    ours: Mapping[str, float],
    begin: Sequence[float] | None = None,
) -> list[Setting]:
    """Return for each bound the coarsest setting, by halves, whose error is above it in neither figure.

    The error is against the rival's own reference, at least 16 times tighter: its march in time is judged,
    not its cells. ours: the figures of this project's reference. begin: [K] where to begin for each bound.
    """
    reference = figures(rival.marched, rival.read(rival.run(rival.tight)))

    @cache
    def at(tolerance: float) -> tuple[int, Error]:
        course = rival.read(rival.run(tolerance))
        return course.steps, apart(figures(rival.marched, course), reference)

    found = []
    for bound, first in zip(bounds, begin or [rival.first] * len(bounds), strict=True):
        tolerance = first
        while not at(tolerance)[1].within(bound) and 0.5 * tolerance >= REFERENCE * rival.tight:
            tolerance *= 0.5
        steps, error = at(tolerance)
        kept, differs = error.within(bound), apart(reference, ours)
        found.append(Setting(tolerance=tolerance, steps=steps, error=error, kept=kept, differs=differs))
    return found


def machine(*packages: str) -> list[str]:
    """Return the machine and the versions that matter, a line each."""
    cores = os.cpu_count()
    lines = [f"{_processor()}, {cores} cores, {platform.system()} {platform.machine()}; one BLAS thread"]
    found = [f"Python {platform.python_version()}"]
    for package in packages:
        try:
            found.append(f"{package} {version(package)}")
        except PackageNotFoundError:
            found.append(f"{package} not installed")
    return [*lines, ", ".join(found)]


def _processor() -> str:
    information = Path("/proc/cpuinfo")
    if information.is_file():
        for line in information.read_text(encoding="utf-8").splitlines():
            if line.startswith("model name"):
                return line.partition(":")[2].strip()
    return platform.processor() or "processor unknown"


def resident(rival: type, *, size: str, tolerance: float) -> float:
    """Return by how many MB making and marching a rival raises the peak of the memory of its own process."""
    command = [sys.executable, str(Path(__file__).parent / "resident.py")]
    command += [rival.__module__, rival.__name__, size, repr(tolerance)]
    done = subprocess.run(command, capture_output=True, text=True, check=True)
    return float(done.stdout.split()[-1])
