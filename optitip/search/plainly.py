"""What SQLite and the system say of a disk, a folder or a foreign file, as one line for a person."""

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from optitip.errors import UserMistakes

_TROUBLES = (
    ("disk is full", "the disk is full", "Make room and give the same command again: nothing is lost"),
    ("disk I/O error", "the disk can't be read or written", "Look after the disk, or name another folder"),
    (
        "readonly database",
        "the run can't be written",
        "Take off the write protection, or name another folder",
    ),
    ("unable to open", "the run can't be opened", "Look after its rights, or name another folder"),
    ("is locked", "another program is writing this run", "Wait until it is done"),
    ("not a database", "this file is no run of optitip", "Name another folder"),
    ("malformed", "the run's file is damaged", "Sweep into a new folder"),
)


@contextmanager
def said_plainly(path: Path) -> Iterator[None]:
    """Turn what goes wrong with the file or folder at ``path`` into a mistake; the rest is a bug."""
    try:
        yield
    except sqlite3.DatabaseError as error:
        said = str(error)
        for part, problem, remedy in _TROUBLES:
            if part in said:
                raise UserMistakes.one(str(path), problem, remedy) from None
        raise
    except OSError as error:
        named = str(error.filename or path)
        problem = (error.strerror or str(error)).lower()
        raise UserMistakes.one(named, problem, "Name a folder that can be written") from None
