"""Prints by how many MB one rival's making and marching raise the peak of a process's resident memory."""

import importlib
import os
import resource
import sys

for _name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ[_name] = "1"

from marched import SIZES, marched_tip
from ours import Compiled

if __name__ == "__main__":
    module, name, size, tolerance = sys.argv[1:]
    rival = getattr(importlib.import_module(module), name)
    marched = marched_tip(SIZES[size])
    if rival is Compiled:
        rival(marched_tip(SIZES["usual"])).run()  # the compiler's own memory comes before
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    made = rival(marched)
    made.run(float(tolerance))
    after = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    sys.stdout.write(f"{(after - before) / 1024.0:.1f}\n")
