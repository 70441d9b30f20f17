"""What would get there, as a person reads it: changes that reach a target, how close others come."""

from collections.abc import Iterator

from rich.console import Console

from optitip.evaluate.ways import HARDLY, Change, Way, Ways
from optitip.report.figures import bracket_text
from optitip.units import Sentence, System, text

TITLE = "What would get you there"


def show_ways(out: Console, told: Ways, *, units: System) -> None:
    """Print what would reach a target that is missed."""
    out.print(TITLE, style="bold")
    for line in ways_lines(told, units):
        out.print(line, markup=False)


def ways_lines(told: Ways, units: System) -> Iterator[str]:
    """Yield the sentence that sums up, then a line for each lever in the order of the physics."""
    unit = told.value.unit
    wanted = text(told.target.value, unit, units)
    missing = text(told.missing, _difference(unit), units, digits=3)
    reaching = [way for way in told.single if way.reaching is not None]
    yield f"{told.target.metric} misses {wanted} by {missing}, expected. {_summary(told, reaching, units)}"
    for way in told.single:
        yield f"- {_line(way, told, units)}"
    if told.pair is not None:
        yield f"- Two together: {_line(told.pair, told, units)}"


def _summary(told: Ways, reaching: list[Way], units: System) -> str:
    if reaching:
        sound, harmful = (
            [
                f"{way.levers[0]} ({_to(way.reaching, units)})"
                for way in reaching
                if way.reaching is not None and bool(_harms(way.reaching)) is harms
            ]
            for harms in (False, True)
        )
        said = [f"One change alone that reaches it: {_listed(sound)}."] if sound else []
        if harmful:
            alone = "Another" if sound else "One change alone"
            said.append(f"{alone} that reaches it, but breaks something: {_listed(harmful)}.")
        return " ".join(said)
    if told.pair is not None and told.pair.reaching is not None:
        return "No change alone reaches it within what can be built; two together do."
    return "No change alone reaches it within what can be built, nor do two of the tip's and its sample's."


def _line(way: Way, told: Ways, units: System) -> str:
    names = " and ".join(way.levers)
    if way.reaching is not None:
        was = " and ".join(_said(one, units) for one in way.was)
        figure = bracket_text(way.reaching.value, units)
        return f"{names}: {_to(way.reaching, units)} instead of {was} gives {figure}{_aside(way.reaching)}."
    if way.best is None:
        return f"{names}: nothing there gets it nearer."
    unit = told.value.unit
    nearer = abs(way.best.value.expected - told.value.expected)
    figure = f"{_to(way.best, units)} gives {text(way.best.value.expected, unit, units)}"
    change = text(nearer, _difference(unit), units, digits=2)
    if told.target.past(way.best.value.expected) >= 0.0:
        return f"{names}: {figure}, expected, but some flow state has no answer there."
    if nearer < HARDLY * told.missing:
        return f"{names} hardly matters: {figure}, {change} nearer."
    return f"{names}: not enough alone; {figure}, {change} nearer."


def _aside(change: Change) -> str:
    """Return what else a change does: where it doesn't reach, and what it breaks."""
    said = ", in every flow state" if change.everywhere else ", not in every flow state"
    against = _harms(change)
    return f"{said}; but {_listed(against, 'and')}" if against else said


def _harms(change: Change) -> list[str]:
    """Return what a change breaks: a part that fails is told beside any limit that isn't its own."""
    broken = [f"{one.limit.metric} isn't held" for one in change.broken]
    told = any(one.limit.metric.startswith("margin.") for one in change.broken)
    if change.margin is not None and change.margin < 0.0 and not told:
        broken.append(f"the smallest margin is {change.margin:.2f}")
    return [*broken, *(f"it can't be turned ({one})" for one in change.unturned)]


def _to(change: Change, units: System) -> str:
    return " and ".join(_said(one, units) for one in change.to)


def _said(words: str, units: System) -> str:
    return words.said(units) if isinstance(words, Sentence) else words


def _listed(words: list[str], last: str = "or") -> str:
    """Return words as a sentence lists them.

    >>> _listed(["a", "b", "c"])
    'a, b or c'
    """
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} {last} {words[-1]}"


def _difference(unit: str) -> str:
    return "K difference" if unit == "K" else unit
