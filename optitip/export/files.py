"""Where exported files land: safe names, one folder, whole files or none."""

import os
import re
import unicodedata
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from optitip.errors import UserMistakes

LONGEST_NAME = 80
_RESERVED = re.compile(r"(?:con|prn|aux|nul|com\d|lpt\d)(?:\..*)?", re.IGNORECASE)


def safe_name(text: str) -> str:
    """Return ``text`` as a file name that means a plain file in every folder and system.

    Letters, digits, points, dashes and underscores stay; all else becomes a dash.

    >>> safe_name("../nose tip #3")
    'nose-tip-3'
    >>> safe_name("con.txt")
    'file-con.txt'
    """
    plain = re.sub(r"[^\w.-]+", "-", unicodedata.normalize("NFC", text))
    plain = re.sub(r"-{2,}", "-", plain).strip(".-")
    suffix = Path(plain).suffix[:LONGEST_NAME]
    plain = plain.removesuffix(suffix)[: LONGEST_NAME - len(suffix)] + suffix
    plain = plain.strip(".-") or "unnamed"
    return f"file-{plain}" if _RESERVED.fullmatch(plain) else plain


def one_line(text: str) -> str:
    r"""Return ``text`` with a space for whatever doesn't print.

    >>> one_line("up\nand down")
    'up and down'
    """
    return "".join(letter if letter.isprintable() else " " for letter in text)


def made_folder(folder: Path) -> Path:
    """Return ``folder``, made if it wasn't there.

    Raises ``UserMistakes`` when it can't be made or written.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise _unwritable(folder, error) from None
    if not os.access(folder, os.W_OK | os.X_OK):
        raise UserMistakes.one(str(folder), "this folder can't be written", "Name another with --out")
    return folder


@contextmanager
def whole_file(folder: Path, name: str) -> Iterator[Path]:
    """Yield a path to write to; the file gets its name in ``folder`` only once it is complete.

    ``name`` must be a safe name. Whatever goes wrong, a file of that name is the old one or the new one.
    """
    if name != safe_name(name):
        raise ValueError(f"'{name}' is no safe file name")
    target = made_folder(folder) / name
    if target.is_dir():
        raise UserMistakes.one(str(target), "a folder stands where the file goes", "Name another with --out")
    part = target.with_name(f".part-{os.getpid()}-{name}")
    try:
        yield part
        part.replace(target)
    except OSError as error:
        raise _unwritable(target, error) from None
    finally:
        part.unlink(missing_ok=True)


def write_text(folder: Path, name: str, text: str) -> Path:
    """Write ``text`` as UTF-8 with plain line feeds and return the file's path."""
    return write_bytes(folder, name, text.encode("utf-8"))


def write_bytes(folder: Path, name: str, content: bytes) -> Path:
    """Write ``content`` under ``folder`` and return the file's path."""
    with whole_file(folder, name) as part:
        part.write_bytes(content)
    return folder / name


def _unwritable(place: Path, error: OSError) -> UserMistakes:
    reason = error.strerror or "it can't be written"
    return UserMistakes.one(str(place), f"it can't be written ({reason})", "Name another folder with --out")
