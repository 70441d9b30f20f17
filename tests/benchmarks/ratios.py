"""The rivals side by side on one mesh: CPU time, ratio and error of each at a setting as exact as ours."""

import importlib
from dataclasses import dataclass

from marched import SIZES, Error, apart, figures, marched_tip
from measuring import Setting, resident, say, setting_as_exact, side_by_side, timed
from ours import TOLERANCE, Compiled, Plain, is_compiled

RIVALS = {
    "scipy BDF": ("rival_scipy", "Bdf"),
    "scipy LSODA": ("rival_scipy", "Lsoda"),
    "scikit-fem": ("rival_scikit_fem", "ScikitFem"),
    "sfepy": ("rival_sfepy", "Sfepy"),
    "FiPy": ("rival_fipy", "FiPy"),
}


@dataclass(frozen=True, kw_only=True)
class Row:
    """One rival on one mesh: times [s], memory [MB]."""

    name: str
    unknowns: int
    march: float
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


def rows_at(size: str, *, names=tuple(RIVALS), repeats: int = 7, memory: bool = True) -> list[Row]:
    """Return the rows of one mesh, ours first; all are timed in turn."""
    marched = marched_tip(SIZES[size])
    classes = {Plain.name: Plain, **({Compiled.name: Compiled} if is_compiled() else {}), **rivals(names)}
    made, making = {}, {}
    for name, one in classes.items():
        making[name] = timed(lambda name=name, one=one: made.__setitem__(name, one(marched)))
    plain = made[Plain.name]
    ours = figures(marched, plain.read(plain.run(plain.tight)))
    settings = {}
    for name, rival in made.items():
        say(f"{size}: how exact {name} is")
        if isinstance(rival, Plain):
            course = rival.read(rival.run())
            error = apart(figures(marched, course), ours)
            settings[name] = Setting(
                tolerance=TOLERANCE,
                steps=course.steps,
                error=error,
                kept=True,
                differs=Error(energy=0.0, temperature=0.0),
            )
        else:
            settings[name] = setting_as_exact(rival, bound=settings[Plain.name].error, ours=ours)
    runs = {
        name: (lambda rival=rival, at=settings[name].tolerance: rival.run(at)) for name, rival in made.items()
    }
    say(f"{size}: all in turn")
    times = side_by_side(runs, repeats=repeats)
    return [
        Row(
            name=name,
            unknowns=marched.unknowns,
            march=times[name] / getattr(rival, "batch", 1),
            making=making[name],
            setting=settings[name],
            memory=resident(classes[name], size=size, tolerance=settings[name].tolerance) if memory else None,
        )
        for name, rival in made.items()
    ]
