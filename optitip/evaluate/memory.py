"""What a process that evaluates many designs does about its memory."""

import ctypes
import sys

# of glibc's malloc.h, with the most that it takes for the latter
_TRIM_THRESHOLD, _MMAP_THRESHOLD = -1, -3
_KEPT, _LARGEST = 256 * 2**20, 32 * 2**20


def keep_freed_memory() -> bool:
    """Ask the C library to keep what one design's arrays gave back for the next; return whether it will.

    glibc hands the pages back to the system as soon as the end of its heap is free, and a design fetches
    some 2,000 of them anew. Nothing is asked elsewhere than under glibc, and no answer changes.
    """
    if not sys.platform.startswith("linux"):
        return False
    mallopt = getattr(ctypes.CDLL(None), "mallopt", None)
    return mallopt is not None and bool(
        mallopt(_TRIM_THRESHOLD, _KEPT) and mallopt(_MMAP_THRESHOLD, _LARGEST)
    )
