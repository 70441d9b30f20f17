import ctypes
import importlib
import platform
import sys

import numpy as np

from optitip.evaluate.memory import keep_freed_memory


def faults_of_a_second_pass(size):
    resource = importlib.import_module("resource")  # wherever glibc is

    def work():
        arrays = [np.ones(size) for _ in range(8)]
        return sum(float(one[0]) for one in arrays)

    work()
    before = resource.getrusage(resource.RUSAGE_SELF).ru_minflt
    work()
    return resource.getrusage(resource.RUSAGE_SELF).ru_minflt - before


def test_under_glibc_arrays_made_anew_take_the_pages_that_were_given_back():
    kept = keep_freed_memory()
    assert kept == (platform.libc_ver()[0] == "glibc")
    # 8 arrays of 800 kB are 1,560 pages, fetched anew each time where nothing is kept
    assert not kept or faults_of_a_second_pass(100_000) < 150


def test_another_c_library_is_left_as_it_is(monkeypatch):
    monkeypatch.setattr(ctypes, "CDLL", lambda _name: object())
    assert not keep_freed_memory()
    monkeypatch.setattr(sys, "platform", "win32")
    assert not keep_freed_memory()
