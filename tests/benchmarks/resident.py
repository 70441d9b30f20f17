"""Prints by how many MB one rival's making and marching raise the peak of a process's resident memory."""

import ctypes
import gc
import importlib
import os
import sys
from pathlib import Path

for _name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ[_name] = "1"

from marched import SIZES, marched_tip
from ours import Compiled

PROCESS = Path("/proc/self")


def read(name: str) -> float:
    """Return a figure of this process as Linux tells it [kB]."""
    lines = (PROCESS / "status").read_text(encoding="utf-8").splitlines()
    return float(next(line for line in lines if line.startswith(name)).split()[1])


def lowered() -> float:
    """Give back what is free, set the peak down to what is left [kB] and return that."""
    gc.collect()
    ctypes.CDLL(None).malloc_trim(0)
    (PROCESS / "clear_refs").write_text("5", encoding="utf-8")
    return read("VmRSS")


if __name__ == "__main__":
    module, name, size, tolerance = sys.argv[1:]
    rival = getattr(importlib.import_module(module), name)
    marched = marched_tip(SIZES[size])
    if rival is Compiled:
        rival(marched_tip(SIZES["usual"])).run()  # the compiler's own memory comes before
    before = lowered()
    made = rival(marched)
    made.run(float(tolerance))
    sys.stdout.write(f"{(read('VmHWM') - before) / 1024.0:.1f}\n")
