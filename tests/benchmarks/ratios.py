"""The rivals side by side on one mesh: CPU time, ratio and error of each at a setting as exact as ours."""

import importlib
import sys
from dataclasses import dataclass
from functools import partial

from marched import SIZES, Error, apart, figures, marched_tip
from measuring import Setting, resident, say, settings_as_exact, side_by_side, timed
from ours import TOLERANCE, Compiled, Plain, is_compiled

RIVALS = {
    "scipy BDF": ("rival_scipy", "Bdf"),
    "scipy LSODA": ("rival_scipy", "Lsoda"),
    "scikit-fem": ("rival_scikit_fem", "ScikitFem"),
    "sfepy": ("rival_sfepy", "Sfepy"),
    "FiPy": ("rival_fipy", "FiPy"),
}


ALLOWED = Error(energy=0.1, temperature=0.25)  # what a march in time may err by


@dataclass(frozen=True, kw_only=True)
class Row:
    """One rival on one mesh: times [s], memory [MB]; ``allowed`` is the march at what it may err by."""

    name: str
    unknowns: int
    march: float
    allowed: float
    making: float
    setting: Setting
    memory: float | None


def rivals(names) -> dict[str, type]:
    """Return the classes of the rivals whose packages are installed, by name."""
    found = {}
    for name in names:
        module, attribute = RIVALS[name]
        try:
            found[name] = getattr(importlib.import_module(module), attribute)
        except ImportError:  # an extra that isn't installed leaves its row out
            continue
    return found


def rows_at(size: str, *, names=tuple(RIVALS), repeats: int = 5, memory: bool = True) -> list[Row]:
    """Return the rows of one mesh, ours first; all are timed in turn."""
    marched = marched_tip(SIZES[size])
    classes = {Plain.name: Plain, **({Compiled.name: Compiled} if is_compiled() else {}), **rivals(names)}
    made, making = {}, {}
    for name, one in classes.items():
        making[name] = timed(lambda name=name, one=one: made.__setitem__(name, one(marched)))
    plain = made[Plain.name]
    ours = figures(marched, plain.read(plain.run(plain.tight)))
    say(f"{size}: how exact ours is")
    course = plain.read(plain.run())
    bounds = [apart(figures(marched, course), ours), ALLOWED]
    same = Error(energy=0.0, temperature=0.0)
    own = Setting(tolerance=TOLERANCE, steps=course.steps, error=bounds[0], kept=True, differs=same)
    settings = {}
    for name, rival in made.items():
        say(f"{size}: {name}")
        mine = isinstance(rival, Plain)
        # the same scheme errs alike in time whatever assembles: the slowest doesn't try all the coarser ones
        like = settings.get(getattr(rival, "like", ""))
        begin = [one.tolerance for one in like] if like else None
        settings[name] = (
            [own, own] if mine else settings_as_exact(rival, bounds=bounds, ours=ours, begin=begin)
        )
    runs = {
        (name, one.tolerance): partial(made[name].run, one.tolerance)
        for name, both in settings.items()
        for one in both
    }
    if Compiled.name in made:
        made[Compiled.name].run()  # the first call compiles, or reads what was compiled
    say(f"{size}: all in turn")
    times = side_by_side(runs, repeats=repeats)
    rows = []
    for name, rival in made.items():
        exact, allowed = settings[name]
        batch = getattr(rival, "batch", 1)
        asked = memory and sys.platform == "linux"
        used = resident(classes[name], size=size, tolerance=exact.tolerance) if asked else None
        rows.append(
            Row(
                name=name,
                unknowns=marched.unknowns,
                march=times[name, exact.tolerance] / batch,
                allowed=times[name, allowed.tolerance] / batch,
                making=making[name],
                setting=exact,
                memory=used,
            )
        )
    return rows
