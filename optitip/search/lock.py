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
        return _holder(path.read_text(encoding="utf-8"))
    except (OSError, ValueError, KeyError, TypeError):
        return None


def _holder(written: str) -> Holder:
    held = json.loads(written)
    host, process, began = str(held["host"]), int(held["process"]), str(held.get("began", ""))
    here = host == socket.gethostname()
    same = not began or _began(process) in {began, ""}
    alive = _alive(process) and same if here else None
    return Holder(host=host, process=process, alive=alive)


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
    """Put our own lock there if there is none, whole or not at all."""
    held = {"host": socket.gethostname(), "process": os.getpid(), "began": _began(os.getpid())}
    beside = path.with_name(f"{path.name}.{os.getpid()}")
    try:
        with beside.open("w", encoding="utf-8") as file:
            json.dump(held, file)
            file.flush()
            os.fsync(file.fileno())
        try:
            _put(beside, path)
        except FileExistsError:
            return False
        finally:
            beside.unlink()
    except OSError as error:
        remedy = "Name a folder that can be written"
        raise UserMistakes.one(str(path), f"it can't be written ({error.strerror})", remedy) from None
    return True


def _put(beside: Path, path: Path) -> None:
    """Give a file a second name that must not be there yet."""
    try:
        os.link(beside, path)
    except FileExistsError:
        raise
    except OSError:  # a file system that knows no second names
        with path.open("x", encoding="utf-8") as file:
            file.write(beside.read_text(encoding="utf-8"))


def _clear_if_stale(path: Path) -> None:
    """Remove the lock of a process that is gone, or say who holds it."""
    try:
        written = path.read_text(encoding="utf-8")
    except FileNotFoundError:
        return
    try:
        holder = _holder(written)
    except (ValueError, KeyError, TypeError):
        remedy = "Delete this file if no sweep is running there"
        raise UserMistakes.one(str(path), "the lock can't be read", remedy) from None
    if holder.alive is None:
        problem = f"a sweep on the machine '{holder.host}' holds this run"
        raise UserMistakes.one(str(path), problem, "Wait for it, or delete this file if it is gone")
    if holder.alive:
        problem = f"another sweep (process {holder.process}) is writing this run"
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


def _began(process: int) -> str:
    """Return which process of that number it is, so that a number given anew isn't taken for it.

    Empty where the system doesn't tell (there is no /proc): then the number alone counts.
    """
    try:
        boot = Path("/proc/sys/kernel/random/boot_id").read_text(encoding="ascii").strip()
        after_name = Path(f"/proc/{process}/stat").read_text(encoding="utf-8").rpartition(")")[2]
    except OSError:
        return ""
    ticks_since_boot = 19  # the 22nd field of all, see proc(5)
    return f"{boot} {after_name.split()[ticks_since_boot]}"


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
