"""A map of flights as a person reads it: a table for each slab and joint, and the least flight."""

from collections.abc import Iterator, Sequence

from rich.table import Table

from optitip.cli.tables import table
from optitip.evaluate.flight_map import Build, Cell, Course, Plan, Reach, least_flight
from optitip.metrics.goals import Limit
from optitip.metrics.registry import LABELS, UNITS
from optitip.report.figures import bracket_text, figure_text
from optitip.units import System, shown, text

MARKS = {Reach.EVERY: "++", Reach.EXPECTED: "+", Reach.BEST: "~", Reach.NONE: "", Reach.NO_FLIGHT: "x"}
LEGEND = (
    "++ reached in every flow state, + in the expected one, ~ in the best one alone, no sign in none; "
    "! a limit isn't held or a margin is below 0; x no such flight; * the study's own."
)


def map_tables(cells: Sequence[Cell], plan: Plan, units: System) -> Iterator[Table]:
    """Yield a table for each build: the burn down, peak Mach numbers or motors across."""
    unit = shown(0.0, _unit(cells), units)[1]
    label = LABELS[plan.targets[0].metric].strip()
    for build in plan.builds:
        own = [one for one in cells if one.build == build]
        tops = list(dict.fromkeys(_top(one.course) for one in own))
        title = f"{_said(build, units)}: expected {label} [{unit}] by burn and {_across(plan)}"
        made = table(title, ("burn [s]", True), *((top, True) for top in tops))
        for burn in dict.fromkeys(_burn(one.course) for one in sorted(own, key=lambda one: one.course.burn)):
            row = {_top(one.course): one for one in own if _burn(one.course) == burn}
            made.add_row(burn, *(_shown(row.get(top), units) for top in tops))
        yield made


def map_lines(cells: Sequence[Cell], plan: Plan, units: System) -> Iterator[str]:
    """Yield the least flight of all, that of each build, and what the flight as it is does."""
    wanted = " and ".join(_wanted(one, units) for one in plan.targets)
    least = least_flight(cells)
    if least is None:
        yield f"No flight on this map reaches {wanted} in the expected flow state."
    else:
        asides = "" if least.sound else "; but a limit isn't held or a margin is below 0"
        named = "The first flight named that does" if least.course.motor else "The least flight"
        yield (
            f"{named}: {_flight(least.course)} reaches {wanted} with {_said(least.build, units)} "
            f"({least.reach.value}): {_figure(least, units)}{asides}."
        )
    for build in plan.builds:
        one = least_flight([cell for cell in cells if cell.build == build])
        found = "no flight here does" if one is None else f"{_flight(one.course)}, {_figure(one, units)}"
        yield f"- with {_said(build, units)}: {found}{'' if one is None or one.sound else ' !'}"
    own = [one for one in cells if one.course.own and one.reach.rank >= Reach.EXPECTED.rank]
    for course in dict.fromkeys(_flight(one.course) for one in own):
        builds = " or ".join(
            f"{_said(one.build, units)}{'' if one.sound else ' !'}"
            for one in own
            if _flight(one.course) == course
        )
        yield f"As it is, {course} reaches it with {builds}."
    if not own and any(one.course.own for one in cells):
        yield "The flight as it is doesn't reach it with any of these."


def assumption(*, recorded: bool) -> str:
    """Return how a flight is varied, in a sentence."""
    common = "Each flight is the study's own vehicle with its thrust scaled and its curve stretched"
    if recorded:
        return (
            f"{common}; thrust and drag per mass are read off the record and its coast, the last drag holds "
            "at higher Mach numbers, and the way down is the study's. Such a flight's energy is within some "
            "6 % of one reckoned with masses and drag table."
        )
    return f"{common}; drag table and mass without propellant stay, and propellant is what the impulse takes."


def _said(build: Build, units: System) -> str:
    return f"{text(build.slab, 'm', units, digits=3)}, {build.joint}"


def _across(plan: Plan) -> str:
    return "flight" if plan.courses[0].motor else "peak Mach number"


def _top(course: Course) -> str:
    return course.motor or f"{course.mach:.2f}"


def _flight(course: Course) -> str:
    named = f"{course.motor} (Mach {course.mach:.2f})" if course.motor else f"Mach {course.mach:.2f}"
    return f"{named} with a burn of {_burn(course)} s"


def _burn(course: Course) -> str:
    return f"{course.burn:.3g}"


def _figure(cell: Cell, units: System) -> str:
    return "" if cell.value is None else bracket_text(cell.value, units)


def _shown(cell: Cell | None, units: System) -> str:
    if cell is None:
        return ""
    own = "*" if cell.course.own else ""
    if cell.value is None:
        return f"x{own}"
    figure = figure_text(cell.value.expected, cell.value.unit, units)
    unsound = "" if cell.sound else "!"
    return " ".join(part for part in (figure, f"{MARKS[cell.reach]}{unsound}{own}") if part)


def _unit(cells: Sequence[Cell]) -> str:
    return next((one.value.unit for one in cells if one.value is not None), "1")


def _wanted(target: Limit, units: System) -> str:
    return f"{target.metric} {target.sense.value} {text(target.value, UNITS[target.metric], units)}"
