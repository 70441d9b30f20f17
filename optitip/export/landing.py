"""A package lands in its folder whole, and never over a file of the user's.

What lands is listed with its SHA-256 in ``contents.sha256`` (``sha256sum -c`` reads it): what the list has
and nobody changed is replaced or, if no longer part of the package, taken away; all else is the user's.
"""

import hashlib
import os
import shutil
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path, PurePosixPath

from optitip.errors import Mistake, UserMistakes
from optitip.export.files import made_folder, write_text

CONTENTS = "contents.sha256"
_TOLD = 4
"""Of files in the way: how many are named"""
_FOREIGN = "it is no file of an earlier package"
_REMEDY = "Move it away, or name another folder with --out"


@contextmanager
def landing(folder: Path) -> Iterator[Path]:
    """Yield an empty folder to write into; its files stand in ``folder`` once all are written, or none do.

    Raises ``UserMistakes`` if a file of the user's is in the way: at once for one that an earlier package
    left and that was changed since, else before the first file lands.
    """
    check_landing(folder)
    fresh = not folder.exists()
    made_folder(folder)
    waiting = folder / f".part-{os.getpid()}"
    try:
        waiting.mkdir()
        yield waiting
        _land(waiting, folder)
    finally:
        shutil.rmtree(waiting, ignore_errors=True)
        if fresh and not any(folder.iterdir()):
            folder.rmdir()


def check_landing(folder: Path, *, sure: Sequence[str] = ()) -> None:
    """Raise ``UserMistakes`` for files that an earlier package left in ``folder`` and that were changed.

    ``sure`` are names that will be written whatever the package is: a file of the user's there is told now
    rather than when all is reckoned. So is a folder that can't be written, or is none.
    """
    if folder.exists():
        made_folder(folder)
    listed = _listed(folder)
    changed = [name for name, digest in listed.items() if _digest(folder / name) not in (digest, "")]
    _refuse(folder, changed, "it was changed since it was written here")
    _refuse(folder, [name for name in sure if name not in listed and (folder / name).exists()], _FOREIGN)


def _land(waiting: Path, folder: Path) -> None:
    earlier = _listed(folder)
    new = {name: _digest(waiting / name) for name in _names(waiting)}
    own = [name for name in new if name not in earlier and (folder / name).exists()]
    same = {name for name in own if _digest(folder / name) == new[name]}
    _refuse(folder, [name for name in own if name not in same], _FOREIGN)
    for name in new:
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (waiting / name).replace(folder / name)
    for name in earlier.keys() - new.keys():
        (folder / name).unlink(missing_ok=True)
    listed = [f"{digest}  {name}\n" for name, digest in new.items() if name not in same]
    write_text(folder, CONTENTS, "".join(listed))


def _refuse(folder: Path, names: list[str], problem: str) -> None:
    """Raise for files that would be lost, the first of them by name."""
    told = [Mistake(str(folder / name), problem, _REMEDY) for name in sorted(names)[:_TOLD]]
    if more := len(names) - len(told):
        told.append(Mistake(str(folder), f"{more} more stand in the way", "Name another folder with --out"))
    if told:
        raise UserMistakes(told)


def _names(folder: Path) -> list[str]:
    return sorted(path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file())


def _digest(path: Path) -> str:
    """Return a file's SHA-256, of none ""."""
    if not path.exists():
        return ""
    return hashlib.sha256(path.read_bytes()).hexdigest() if path.is_file() else "a folder"


def _listed(folder: Path) -> Mapping[str, str]:
    """Return what an earlier package left, with its SHA-256; a list that isn't one names nothing."""
    try:
        lines = (folder / CONTENTS).read_text(encoding="utf-8").splitlines()
    except (OSError, UnicodeDecodeError):
        return {}
    pairs = (line.partition("  ")[::2] for line in lines)
    return {name: digest for digest, name in pairs if name and _inside(name)}


def _inside(name: str) -> bool:
    path = PurePosixPath(name)
    return not path.is_absolute() and ".." not in path.parts
