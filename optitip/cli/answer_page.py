"""An assessment as a person reads it in a terminal, eighty columns wide."""

from rich.console import Console
from rich.table import Table

from optitip.cli.assembly_lines import assembly_lines
from optitip.cli.outside_lines import outside_lines
from optitip.cli.tables import show_table, table
from optitip.cli.turning_lines import turning_lines
from optitip.cli.ways_lines import show_ways
from optitip.evaluate.assessment import Assessment
from optitip.evaluate.heatings import TABLE_STATE
from optitip.evaluate.levers import BaseSwing, JointSwing
from optitip.evaluate.verdicts import judged_lines
from optitip.evaluate.ways import Ways
from optitip.heating.hollow import HOLLOW_SHARE
from optitip.inputs.study_tables import StudyTables
from optitip.metrics.margins import CAP, Margin
from optitip.metrics.registry import DEPTHS, LABELS, UNITS
from optitip.report.figures import bracket_text, figure_text
from optitip.report.words import CAUTIONS
from optitip.units import Sentence, System, shown, text

STATE_COLUMNS = {
    "sample.energy_peak": "sample\npeak",
    "sample.energy_landing": "sample\nlanding",
    "sample.temperature_coldest_peak": "coldest\npoint",
    "band.temperature_peak": "band\npeak",
    "margin.smallest": "smallest\nmargin",
}
MARGINS = {
    "margin.yield": "yield",
    "margin.strain": "strain",
    "margin.shakedown": "repeated yield",
    "margin.buckling": "buckling",
    "margin.retention": "retention",
    "margin.thread": "threads",
    "margin.rod": "tie rod",
    "margin.temperature": "heat, parts",
    "margin.joint": "heat, joints",
    "margin.inside": "heat, inside",
    "margin.exposure": "time in the heat",
    "margin.coupler": "coupler",
    "margin.shoulder": "sample's weight",
    "margin.pressing": "pressing",
    "margin.contact": "contact",
    "margin.smallest": "smallest",
}
SAID_ELSEWHERE = ("margin.", "turning.", "outline.", "vehicle.", "error.")
JUDGED = (
    "Yield: stress of the loads against yield at temperature. Strain: to and fro, heat included. Repeated "
    "yield: the whole range of stress against twice yield; it counts for a tip that flies again. Heat: the "
    "hottest point against what it stands. Sample's weight: on its shoulder, or what spins or presses it "
    "on the wall. Contact: the pressing follows."
)
BY_STATE = "The same flight in each state of the boundary layer"
BY_TABLE = "The same tip under each heating table"
ONSET = "Onset at N: laminar up to the Reynolds number N along the surface, turbulent beyond it."
ATTITUDES = {"forward": "pointing forward", "across": "lying across the stream", "inside": "inside a shell"}
_MINUTES_FROM = 120.0  # [s] of waiting
_NO_WARMER = 0.05  # [K]


def show_assessment(
    out: Console,
    assessment: Assessment,
    *,
    tables: StudyTables,
    swing: JointSwing | None,
    base: BaseSwing | None,
    ways: tuple[Ways, ...] = (),
    units: System,
) -> None:
    """Print the answer, what limits it, and the tables behind both."""
    out.print(assessment.title, style="bold", markup=False)
    out.print()
    for line in answer_lines(assessment, tables=tables, units=units):
        out.print(line, markup=False)
    if swing is not None:
        out.print(_swing_line(swing, units), markup=False)
    if base is not None:
        out.print(_base_line(base, units), markup=False)
    for told in ways:
        out.print()
        show_ways(out, told, units=units)
    for one in (
        _states_table(assessment, units),
        _metrics_table(assessment, units),
        _margins_table(assessment, units),
    ):
        out.print()
        show_table(out, one)
    out.print()
    _show_making(out, assessment, units)
    if assessment.uncovered:
        out.print(f"Not judged: {'; '.join(assessment.uncovered)}.", markup=False)
    for warning in assessment.warnings:
        said = warning.said(units) if isinstance(warning, Sentence) else warning
        out.print(f"Note: {said}.", markup=False)
    for caution in CAUTIONS:
        out.print(f"Caution: {caution}", markup=False)


def _show_making(out: Console, assessment: Assessment, units: System) -> None:
    """Print how the tip goes together, and whether it can be turned."""
    titled: dict[str, list[str]] = {}
    if assessment.assembly is not None:
        titled["How it goes together"] = assembly_lines(assessment.assembly, units)
    if assessment.turnable is not None:
        titled["Can it be turned?"] = turning_lines(assessment.turnable, units)
    for title, lines in titled.items():
        out.print(title, style="bold")
        for line in lines:
            out.print(line, markup=False)
        out.print()


def answer_lines(assessment: Assessment, *, tables: StudyTables, units: System) -> list[str]:
    """Return the answer in a few sentences, each figure with its bracket and unit."""

    def spread(name: str) -> str:
        return bracket_text(assessment.metrics[name], units)

    lines = [
        f"The sample takes up {spread('sample.energy_peak')}, that is "
        f"{spread('sample.energy_peak_per_mass')}; its coldest point {_coldest(assessment, tables, units)}.",
        *_wait_lines(assessment, tables, units),
        _kept_line(assessment, tables, units),
        _limiting_line(assessment, units),
        *judged_lines(assessment.targets, "Target", units),
        *judged_lines(assessment.limits, "Limit", units),
        *([] if assessment.outside is None else outside_lines(assessment.outside, units)),
    ]
    if len(assessment.states) == 1:
        lines.append("A heating table has no bracket: how sure this is depends on the table alone.")
    else:
        over = "the heating tables" if _under_tables(assessment) else "the states of the boundary layer"
        lines.append(f"Figures: expected, and from low to high over {over}.")
    return lines


def _coldest(assessment: Assessment, tables: StudyTables, units: System) -> str:
    """Return how warm the coldest point gets; of a sample that was warmed before, that it got no warmer."""
    start, peak = tables.sample.start_temperature, assessment.metrics["sample.temperature_coldest_peak"]
    if start is not None and peak.high <= start + _NO_WARMER:
        return f"never gets above the {text(start, 'K', units)} it starts with"
    return f"reaches {bracket_text(peak, units)}"


def _wait_lines(assessment: Assessment, tables: StudyTables, units: System) -> list[str]:
    """Return the line about the wait on the pad, if there is one."""
    wait = 0.0 if tables.flight is None else tables.flight.pad.wait
    if wait == 0.0:
        return []
    waited = f"{wait:g} s" if wait < _MINUTES_FROM else f"{wait / 60.0:.4g} min"
    mean, coldest = (
        text(assessment.metrics[f"sample.temperature_{which}_lift_off"].expected, "K", units)
        for which in ("mean", "coldest")
    )
    return [
        f"After {waited} on the pad the sample lifts off at {mean} (coldest point {coldest}); "
        "its heat counts from there."
    ]


def _kept_line(assessment: Assessment, tables: StudyTables, units: System) -> str:
    kept = bracket_text(assessment.metrics["sample.energy_landing"], units)
    if tables.flight is None:
        return f"At the end of the heating table it holds {kept} over its start."
    how = ATTITUDES[tables.flight.descent.attitude.value]
    since = "its start" if tables.flight.pad.wait == 0.0 else "lift-off"
    return f"At landing it holds {kept} over {since}, the tip having come down {how}."


def _limiting_line(assessment: Assessment, units: System) -> str:
    smallest = assessment.smallest_margin()
    if smallest is None or smallest[1].value >= CAP:
        return "Nothing comes near a limit."
    state, margin = smallest
    place = "" if margin.axial is None else f", {text(margin.axial, 'm', units)} from the nose point"
    name = "temperature" if margin.name == "margin.joint" else margin.name.removeprefix("margin.")
    return (
        f"What limits it first is {name}, of the {margin.part}{place} ({margin.time}; flow {state}): "
        f"{margin.said(units)}. Margin {margin.value:.2f}, 0 at the limit."
    )


def _swing_line(swing: JointSwing, units: System) -> str:
    low, high = (text(energy, "J", units) for energy in swing.energy)
    (least, unit), (most, _) = (shown(one, "W/(m2 K)", units) for one in swing.conductance)
    conductance = f"{least:.4g} to {most:.4g} {unit}"
    article = "an" if swing.build[0] in "aeiou" else "a"
    return f"Apart from that, {article} {swing.build} joint may have {conductance}: expected {low} to {high}."


def _base_line(swing: BaseSwing, units: System) -> str:
    opened, closed = (text(energy, "J", units) for energy in (swing.opened, swing.closed))
    return (
        f"The air in the open base is a guess, {HOLLOW_SHARE:g} of the film across the stream: "
        f"at landing {opened} with it, {closed} with a closed base."
    )


def _under_tables(assessment: Assessment) -> bool:
    return assessment.expected_state == TABLE_STATE


def _states_table(assessment: Assessment, units: System) -> Table:
    headers = [
        f"{label}\n[{shown(0.0, UNITS[name], units)[1] or '-'}]" for name, label in STATE_COLUMNS.items()
    ]
    tables = _under_tables(assessment)
    made = table(
        BY_TABLE if tables else BY_STATE,
        ("", True),
        ("flow state", False),
        *((header.replace("[", r"\["), True) for header in headers),
        caption=None if tables else ONSET,
    )
    for number, state in enumerate(assessment.states.values(), start=1):
        expected = len(assessment.states) > 1 and state.name == assessment.expected_state
        name = f"{state.name} (expected)" if expected else state.name
        figures = [figure_text(state.metrics[metric], UNITS[metric], units) for metric in STATE_COLUMNS]
        made.add_row(str(number), name, *figures, style="bold" if expected else "")
    return made


def _metrics_table(assessment: Assessment, units: System) -> Table:
    numbers = {name: str(number) for number, name in enumerate(assessment.states, start=1)}
    columns = (("metric", False), ("unit", False), ("low", True), ("expected", True), ("high", True))
    made = table("Low and high of each metric, and the flow states they come from", *columns, ("from", True))
    for name, label in LABELS.items():
        value = assessment.metrics.get(name)
        if value is None or name.startswith(SAID_ELSEWHERE) or (name in DEPTHS and value.high == 0.0):
            continue
        figures = [figure_text(one, value.unit, units) for one in (value.low, value.expected, value.high)]
        low, high = (numbers[one] for one in assessment.extremes(name))
        source = f"{low}, {high}" if figures[0] != figures[2] else ""
        made.add_row(label, shown(0.0, value.unit, units)[1], *figures, source)
    return made


def _margins_table(assessment: Assessment, units: System) -> Table:
    columns = (
        ("margin", False),
        ("value", True),
        ("part", False),
        ("z", True),
        ("when", False),
        ("state", True),
    )
    made = table("Margins in the worst flow state; 0 is the limit", *columns, caption=JUDGED)
    numbers = {name: str(number) for number, name in enumerate(assessment.states, start=1)}
    worst: dict[str, tuple[str, Margin]] = {}
    for state in assessment.states.values():
        for margin in state.margins:
            if margin.name not in worst or margin.value < worst[margin.name][1].value:
                worst[margin.name] = (state.name, margin)
    for name, (state_name, margin) in worst.items():
        label = MARGINS.get(name, name.removeprefix("margin."))
        if margin.value >= CAP:
            made.add_row(label, f"over {CAP:g}", "" if margin.part else margin.said(units), "", "", "")
            continue
        place = "" if margin.axial is None else text(margin.axial, "m", units, digits=3)
        made.add_row(label, f"{margin.value:.2f}", margin.part, place, margin.time, numbers[state_name])
    return made
