"""What the finer grid says of a front, in a few lines."""

from collections.abc import Mapping

from optitip.metrics.goals import Goals
from optitip.metrics.registry import LABELS, UNITS
from optitip.search.verified import Rank, Verified
from optitip.units import System, difference_text


def verified_lines(verified: Mapping[str, Verified], *, goals: Goals, units: System) -> list[str]:
    """Return how many members keep their rank on the finer grid, and by how much the objectives move."""
    if not verified:
        return []
    changed = sum(one.rank is not Rank.KEPT for one in verified.values())
    lines = [
        f"{changed} of {len(verified)} change their rank on the finer grid"
        + (": marked in front.csv." if changed else ".")
    ]
    moved = []
    for name in (objective.metric for objective in goals.objectives):
        errors = [abs(one.errors[name]) for one in verified.values() if name in one.errors]
        if errors:
            moved.append(f"{LABELS[name].strip()} {difference_text(max(errors), UNITS[name], units)}")
    return [*lines, f"There the objectives move by at most: {', '.join(moved)}."] if moved else lines
