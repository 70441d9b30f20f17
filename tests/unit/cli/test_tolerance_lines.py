import re

from rich.console import Console

from optitip.cli.tolerance_lines import show_tolerances
from optitip.errors import Outcome
from optitip.evaluate.tolerances import COLDEST, ENERGY, Lever, LeverEnd, Source, Tolerances, spread
from optitip.metrics.turning import Finding
from optitip.units import System


def _told(*levers, energy=1000.0, coldest=320.0):
    drawn = {ENERGY: energy, COLDEST: coldest}
    return Tolerances(
        levers=levers,
        spreads={name: spread(levers, metric=name, nominal=value) for name, value in drawn.items()},
        still={},
    )


def _lever(low, high):
    ends = tuple(LeverEnd(values=(v,), design={}, figures=f) for v, f in ((0.0028, low), (0.0032, high)))
    return Lever(name="slab", source=Source.SLAB, unit="m", drawn=(0.003,), ends=ends)


def _printed(told, units=System.METRIC):
    out = Console(width=90, record=True)
    show_tolerances(out, told, units=units)
    return out.export_text()


def test_changes_of_temperatures_are_differences_in_either_system():
    slab = _lever({ENERGY: 990.0, COLDEST: 321.0}, {ENERGY: 1010.0, COLDEST: 319.0})
    assert re.search(r"slab +3 +2.8 +-10 +\+1\.0", _printed(_told(slab)))
    assert re.search(r"slab +0.1181 +0.1102 +-0.0095 +\+1\.8", _printed(_told(slab), System.US))


def test_an_end_without_an_answer_is_a_dash_and_a_line():
    bad = LeverEnd(values=(0.0032,), design={}, outcome=Outcome.SLAB_TOO_THICK, detail="3.2 mm of 3 mm")
    good = LeverEnd(values=(0.0028,), design={}, figures={ENERGY: 990.0, COLDEST: 321.0})
    slab = Lever(name="slab", source=Source.SLAB, unit="m", drawn=(0.003,), ends=(good, bad))
    said = _printed(_told(slab))
    assert re.search(r"\[mm\] +3.2 +- +-", said)
    plain = " ".join(said.split())
    assert "NOT in the spread: the slab at 3.2 mm: the slab is thicker than the cavity is wide" in plain


def test_a_rule_of_the_lathe_that_an_end_breaks_is_a_line_in_the_units_asked_for():
    rule = Finding(
        name="turning.wall",
        value=-1e-4,
        place="tip.band.thickness",
        words="the wall is {0}",
        figures=((0.0004, "m"),),
        remedy="Thicken it",
    )
    figures = {ENERGY: 990.0, COLDEST: 321.0}
    thin = LeverEnd(values=(0.0004,), design={}, figures=figures, unturned=(rule,))
    thick = LeverEnd(values=(0.0006,), design={}, figures=figures)
    wall = Lever(name="wall", source=Source.WALL, unit="m", drawn=(0.0005,), ends=(thin, thick))
    plain = " ".join(_printed(_told(wall)).split())
    assert "Can't be turned: the wall at 0.4 mm. tip.band.thickness: the wall is 0.4 mm. Thicken it." in plain
    assert "the wall is 0.0157 inch" in " ".join(_printed(_told(wall), System.US).split())
