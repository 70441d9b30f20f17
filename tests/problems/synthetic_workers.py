"""Evaluators that go wrong in a worker process: each in its own way, with few imports to start fast."""

import itertools
import os
import signal
import threading
import time
from functools import partial

from optitip.errors import Outcome
from optitip.metrics.values import Evaluation
from optitip.search.executors.face import States


def one_by_one(evaluate):
    """Return what evaluates a batch of designs one after the other."""
    return partial(_each, evaluate=evaluate)


def _each(designs, *, evaluate):
    return [evaluate(design) for design in designs]


def _both(evaluate):
    return dict.fromkeys(States, one_by_one(evaluate))


def _deadly(design):
    if design["fate"] == "dies":
        os._exit(9)
    if design["fate"] == "interrupted":
        signal.raise_signal(signal.SIGINT)
    if design["fate"] == "hangs":
        threading.Event().wait()
    if design["fate"] == "loops in C":
        sum(itertools.repeat(1))  # for ever, and lets no thread run meanwhile
    if design["fate"] == "no memory":
        raise MemoryError
    if design["fate"] == "slow":
        time.sleep(0.02)
    return Evaluation(outcome=Outcome.MESH_FOLDED, detail=design["fate"])


def deadly_evaluators():
    return _both(_deadly)


def sluggish_evaluators():
    time.sleep(1.5)
    return deadly_evaluators()


def _broken(design):
    raise ZeroDivisionError(f"a bug met with {len(design)} keys")


def broken_evaluators():
    return _both(_broken)


def _asking_the_environment(design):
    return Evaluation(outcome=Outcome.OUT_OF_RANGE, detail=os.environ.get(design["name"], "unset"))


def environment_evaluators():
    return _both(_asking_the_environment)


def no_evaluators():
    raise FileNotFoundError("the study went away")


_loads = []


def _counting(design):
    return Evaluation(outcome=Outcome.MESH_FOLDED, detail=f"{design['fate']} {len(_loads)}")


def counting_evaluators():
    _loads.append(True)
    return _both(_counting)
