"""What differs between the study a run was begun with and the one it would go on with."""

import tomllib
from collections.abc import Iterator, Mapping
from pathlib import Path

from optitip.errors import Mistake, UserMistakes
from optitip.inputs.study import HOW_LONG, OWN_MATERIALS
from optitip.search.plainly import said_plainly

_MAY_CHANGE = frozenset(f"sweep.{name}" for name in HOW_LONG)
_KEPT = ("inputs", OWN_MATERIALS)  # where a run keeps its copies
_REMEDY = "Sweep into a new folder, or put it back as it was"


def check_unchanged(run: Path, *, study: Path, study_text: str, inputs: Mapping[str, Path]) -> None:
    """Raise a mistake for each difference between the run's copy ``study`` and the study as it is now.

    ``inputs`` gives today's file under each name it has in the run's folder ``run``.
    """
    with said_plainly(run):
        before = study.read_text(encoding="utf-8")
        kept = {f"{folder}/{path.name}" for folder in _KEPT for path in (run / folder).glob("*")}
        changed = [name for name in sorted(inputs.keys() & kept) if _differs(run / name, inputs[name])]
    mistakes = [
        Mistake(str(study), f"the run was begun with {said}", _REMEDY)
        for said in _differences(before, study_text)
    ]
    told = dict.fromkeys(changed, "has changed")
    told |= dict.fromkeys(kept - inputs.keys(), "is gone")
    told |= dict.fromkeys(inputs.keys() - kept, "is new")
    mistakes += [
        Mistake(str(run / name), f"'{Path(name).name}' {what} since the run was begun", _REMEDY)
        for name, what in sorted(told.items())
    ]
    if mistakes:
        raise UserMistakes(mistakes)


def _differs(kept: Path, now: Path) -> bool:
    return kept.read_bytes() != now.read_bytes()


def _differences(before: str, now: str) -> Iterator[str]:
    old, new = (dict(_leaves(tomllib.loads(text), "")) for text in (before, now))
    for key in sorted((old.keys() | new.keys()) - _MAY_CHANGE):
        if key not in new:
            yield f"{key} = {old[key]!r}, which is gone"
        elif key not in old:
            yield f"no {key}, and now it is {new[key]!r}"
        elif old[key] != new[key]:
            yield f"{key} = {old[key]!r}, and now it is {new[key]!r}"


def _leaves(table: Mapping[str, object], above: str) -> Iterator[tuple[str, object]]:
    """Yield the values of a table and of those in it, by dotted key."""
    for name, value in table.items():
        key = f"{above}.{name}" if above else name
        if isinstance(value, Mapping) and value:
            yield from _leaves(value, key)
        else:
            yield key, value
