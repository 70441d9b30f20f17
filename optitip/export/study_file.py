"""A design written as a study of its own, with the input files it names beside it."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import tomli_w

from optitip.errors import Mistake, UserMistakes
from optitip.export.files import safe_name, write_bytes, write_text
from optitip.inputs.study import set_keys

_OWN = "as a study of its own."


def write_design_study(
    study: Mapping[str, Any],
    *,
    design: Mapping[str, object],
    inputs: Mapping[str, Path],
    study_title: str,
    design_id: str,
    version: str,
    folder: Path,
    name: str = "study.toml",
) -> Path:
    """Write ``study`` with the ``design``'s values as a study under ``folder``, and return its path.

    ``study`` is the file as read, ``design`` the values by dotted key, ``inputs`` the files the study names
    by dotted key: each is copied beside the new study and its key set to the copy's name. All else stays.
    What stands in ``folder`` is replaced only if it is an earlier design: files of the user's own of the
    same name raise ``UserMistakes``, and nothing is written.
    """
    names = _names_beside(inputs, taken=name)
    header = _header(study_title=study_title, design_id=design_id, version=version)
    text = header + tomli_w.dumps(set_keys(study, {**design, **names}))
    contents = {names[key]: _content(source, key) for key, source in inputs.items()}
    if not _is_a_design(folder / name):
        _check_nothing_is_lost(folder, name, contents)
    for copy, content in contents.items():
        write_bytes(folder, copy, content)
    return write_text(folder, name, text)


def _header(*, study_title: str, design_id: str, version: str) -> str:
    lines = (
        f"Design {design_id} of the study {study_title}, {_OWN}",
        f"Written by optitip {version}; the input files it names lie beside it.",
    )
    printable = ("".join(letter if letter.isprintable() else " " for letter in line) for line in lines)
    return "".join(f"# {line}\n" for line in printable) + "\n"


def _names_beside(inputs: Mapping[str, Path], *, taken: str) -> dict[str, str]:
    """Return a name for each input's copy; the same file keeps one, unlike files never share one."""
    owners: dict[str, Path | None] = {taken.casefold(): None}
    names = {}
    for key, source in inputs.items():
        number, whole = 1, source.resolve()
        name = safe_name(source.name)
        while owners.setdefault(name.casefold(), whole) != whole:
            number += 1
            name = safe_name(f"{source.stem}-{number}{source.suffix}")
        names[key] = name
    return names


def _content(source: Path, key: str) -> bytes:
    try:
        return source.read_bytes()
    except OSError as error:
        reason = error.strerror or "it can't be read"
        raise UserMistakes.one(key, f"'{source}': {reason}", "Put the file back beside the study") from None


def _is_a_design(path: Path) -> bool:
    """Return whether the file at ``path`` begins as the studies written here do."""
    if not path.is_file():
        return False
    with path.open("rb") as file:
        first = file.readline(2000).decode("utf-8", "replace").rstrip()
    return first.startswith("# Design ") and first.endswith(_OWN)


def _check_nothing_is_lost(folder: Path, study: str, contents: Mapping[str, bytes]) -> None:
    """Raise for files in ``folder`` that the design would overwrite and that nobody could get back."""
    mistakes = [
        Mistake(str(folder / name), "a file of yours stands here", "Name another folder with --out")
        for name in (study, *contents)
        if (folder / name).exists() and not (name in contents and _holds(folder / name, contents[name]))
    ]
    if mistakes:
        raise UserMistakes(mistakes)


def _holds(path: Path, content: bytes) -> bool:
    return path.is_file() and path.read_bytes() == content
