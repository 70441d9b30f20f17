"""A design written as a study of its own, with the input files it names beside it."""

from collections.abc import Collection, Mapping
from pathlib import Path
from typing import Any

import tomli_w

from optitip.errors import UserMistakes
from optitip.export.files import one_line, safe_name, write_bytes, write_text
from optitip.inputs.keys import set_keys

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
    by dotted key: each is copied beside the new study, never over what stands there, and its key set to the
    copy's name. All else stays.
    """
    there = {path.name for path in folder.iterdir()} if folder.is_dir() else set()
    names = _names_beside(inputs, taken={name, *there})
    header = _header(study_title=study_title, design_id=design_id, version=version)
    text = header + tomli_w.dumps(set_keys(study, {**design, **names}))
    contents = {names[key]: _content(source, key) for key, source in inputs.items()}
    for copy, content in contents.items():
        write_bytes(folder, copy, content)
    return write_text(folder, name, text)


def _header(*, study_title: str, design_id: str, version: str) -> str:
    lines = (
        f"Design {design_id} of the study {study_title}, {_OWN}",
        f"Written by optitip {version}; the input files it names lie beside it.",
    )
    return "".join(f"# {one_line(line)}\n" for line in lines) + "\n"


def _names_beside(inputs: Mapping[str, Path], *, taken: Collection[str]) -> dict[str, str]:
    """Return a name for each input's copy; the same file keeps one, unlike files never share one."""
    owners: dict[str, Path | None] = {one.casefold(): None for one in taken}
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
