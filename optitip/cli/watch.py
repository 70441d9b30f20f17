"""``optitip watch RUN``: how a sweep stands, read from its folder while another process writes it."""

import time
from pathlib import Path
from typing import Annotated

import typer

from optitip.cli.answers import complaints, console
from optitip.report.words import (
    counts_line,
    failure_lines,
    growth_curve,
    growth_line,
    progress_line,
    state_line,
    stints_line,
)
from optitip.search.run_folder import read_run
from optitip.search.standing import Standing, Writing, standing_of

SHARE = 0.02
"""Of a core's time that watching takes at most: the sweep needs it more."""


def command(
    run: Annotated[Path, typer.Argument(help="The folder of a sweep's run.")],
    once: Annotated[bool, typer.Option("--once", help="Say it once, and end.")] = False,
    every: Annotated[float, typer.Option(min=1.0, help="Seconds from one look to the next.")] = 5.0,
) -> None:
    """Watch a sweep from beside it: how far, how fast, what failed, how the front grows."""
    try:
        _watch(run, once=once, every=every)
    except KeyboardInterrupt:
        complaints().print("Only the watching has ended.")


def _watch(run: Path, *, once: bool, every: float) -> None:
    out = console()
    while True:
        begun = time.process_time()
        with read_run(run) as store:
            standing = standing_of(store, run)
        if out.is_terminal and not once:
            out.clear()
        for line in watch_lines(standing, run=run, now=time.time(), width=out.width):
            out.print(line, markup=False)
        if once or standing.writing is Writing.FINISHED:
            return
        if not out.is_terminal:
            out.print()
        time.sleep(max(every, (time.process_time() - begun) / SHARE))


def watch_lines(standing: Standing, *, run: Path, now: float, width: int) -> list[str]:
    """Return what is to be said of a sweep, a line each."""
    curve = growth_curve(standing, width=min(max(width - 4, 8), 60))
    lines = [
        f"{run}: {state_line(standing, now=now)}",
        progress_line(standing, now=now),
        counts_line(standing),
        growth_line(standing),
        *([f"  {curve}"] if curve else []),
        *failure_lines(standing),
        stints_line(standing),
    ]
    if standing.writing is Writing.FINISHED:
        lines.append(f"Look at it: optitip front {run}")
    return lines
