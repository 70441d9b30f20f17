"""Dotted keys of a study file: what stands there, and a copy with other values."""

from collections.abc import Mapping
from typing import Any, cast

from optitip.errors import UserMistakes

FILE_KEYS = (
    "flight.record",
    "flight.ascent.thrust",
    "flight.ascent.drag",
    "outline.profile",
    "outline.given.profile",
    "flow.heating_table",
    "flow.heating_low",
    "flow.heating_high",
)


def named_files(raw: Mapping[str, Any]) -> dict[str, str]:
    """Return the names of input files that stand in ``raw``, by dotted key.

    >>> named_files({"flight": {"record": "low.csv", "also": [{"record": "high.csv"}]}})
    {'flight.record': 'low.csv', 'flight.also.0.record': 'high.csv'}
    """
    also = value_at(raw, "flight.also")
    count = len(also) if isinstance(also, list) else 0
    keys = [*FILE_KEYS, *(f"flight.also.{index}.record" for index in range(count))]
    named = {key: value_at(raw, key) for key in keys}
    return {key: name for key, name in named.items() if isinstance(name, str)}


def value_at(raw: Mapping[str, Any], key: str) -> object:
    """Return the value under a dotted key, or None; a table in a list is counted from 0.

    >>> value_at({"tip": {"material": "304"}}, "tip.material")
    '304'
    >>> value_at({"flight": {"also": [{"record": "high.csv"}]}}, "flight.also.0.record")
    'high.csv'
    """
    here: object = raw
    for part in key.split("."):
        if isinstance(here, list) and part.isdigit() and int(part) < len(here):
            here = here[int(part)]
        elif isinstance(here, Mapping):
            here = here.get(part)
        else:
            return None
    return here


def set_keys(raw: Mapping[str, Any], values: Mapping[str, object]) -> dict[str, Any]:
    """Return a copy of ``raw`` with the dotted keys set; tables without such a key are shared with it.

    >>> set_keys({"tip": {}}, {"tip.band.thickness": "1 mm"})
    {'tip': {'band': {'thickness': '1 mm'}}}
    """
    result: object = dict(raw)
    for key, value in values.items():
        result = _with_key(result, key.split("."), value, key)
    return cast(dict[str, Any], result)


def _with_key(here: object, parts: list[str], value: object, key: str) -> object:
    """Return a copy of a table or list in which what lies on the way to ``parts`` is new, the rest shared."""
    part, rest = parts[0], parts[1:]
    if isinstance(here, dict):
        inside = _with_key(here.get(part, {}), rest, value, key) if rest else value
        return {**here, part: inside}
    if isinstance(here, list) and part.isdigit() and int(part) < len(here) and rest:
        place = int(part)
        return [*here[:place], _with_key(here[place], rest, value, key), *here[place + 1 :]]
    raise UserMistakes.one(key, "there is no such key", "Name a key of a table")
