"""The lock of a run folder: two sweeps never write one run."""

import ctypes
import json
import os
import socket
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from optitip.errors import UserMistakes

_TRIES = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class Holder:
    """Whose lock it is; ``alive`` is None where that can't be told from here, on another machine."""

    host: str
    process: int
    alive: bool | None


def holder_of(path: Path) -> Holder | None:
    """Return who holds the lock file ``path``, None without one or while it is being written."""
    try:
        written = json.loads(path.read_text(encoding="utf-8"))
        host, process = str(written["host"]), int(written["process"])
    except (OSError, ValueError, KeyError, TypeError):
        return None
    return Holder(host=host, process=process, alive=_alive(process) if host == socket.gethostname() else None)


@contextmanager
def locked(path: Path) -> Iterator[None]:
    """Hold the lock file ``path`` while the block runs; that of a process which is gone is taken over."""
    for _ in range(_TRIES):
        if _taken(path):
            break
        _clear_if_stale(path)
    else:
        raise UserMistakes.one(str(path), "the lock can't be had", "Wait a moment and try again")
    try:
        yield
    finally:
        path.unlink(missing_ok=True)


def _taken(path: Path) -> bool:
    try:
        handle = os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o644)
    except FileExistsError:
        return False
    except OSError as error:
        remedy = "Name a folder that can be written"
        raise UserMistakes.one(str(path), f"it can't be written ({error.strerror})", remedy) from None
    with os.fdopen(handle, "w", encoding="utf-8") as file:
        json.dump({"host": socket.gethostname(), "process": os.getpid()}, file)
    return True


def _clear_if_stale(path: Path) -> None:
    """Remove the lock of a process that is gone, or say who holds it."""
    try:
        written = path.read_text(encoding="utf-8")
    except FileNotFoundError:
        return
    try:
        holder = json.loads(written)
        host, process = str(holder["host"]), int(holder["process"])
    except (ValueError, KeyError, TypeError):
        remedy = "Delete this file if no sweep is running there"
        raise UserMistakes.one(str(path), "the lock can't be read", remedy) from None
    if host != socket.gethostname():
        problem = f"a sweep on the machine '{host}' holds this run"
        raise UserMistakes.one(str(path), problem, "Wait for it, or delete this file if it is gone")
    if process == os.getpid() or _alive(process):
        problem = f"another sweep (process {process}) is writing this run"
        raise UserMistakes.one(str(path), problem, "Wait for it, or sweep into another folder")
    # set aside under a name of our own first: of two that find it stale only one succeeds
    aside = path.with_name(f"{path.name}.{os.getpid()}")
    try:
        path.rename(aside)
    except FileNotFoundError:
        return
    if aside.read_text(encoding="utf-8") != written:
        aside.rename(path)
        return
    aside.unlink()


if sys.platform == "win32":

    def _alive(process: int) -> bool:
        # os.kill would end the process here: it is opened for a question instead
        query_limited_information = 0x1000
        handle = ctypes.windll.kernel32.OpenProcess(query_limited_information, False, process)
        if handle:
            ctypes.windll.kernel32.CloseHandle(handle)
        return bool(handle)

else:

    def _alive(process: int) -> bool:
        try:
            os.kill(process, 0)
        except ProcessLookupError:
            return False
        except PermissionError:
            return True
        return True
