"""The one face of the batch: with numba and without it."""

import builtins
import sys
from dataclasses import replace

import numpy as np
import pytest

from optitip.errors import DesignFailure, Outcome
from optitip.solvers import batch
from optitip.solvers.body import Sink
from optitip.solvers.case import HeatCase
from optitip.solvers.march import march_together


@pytest.fixture
def case(column, solid, surface):
    z = np.linspace(0.0, 1e-3, 5)
    wall = column(
        (z, solid(lambda T: 100.0 + 0.1 * T, heat_capacity=2.4e6)),
        (1e-3 + z, solid(0.5, heat_capacity=4e6, boiling=370.0, latent_heat=1e8)),
        joints=[400.0],
        gap_rate=1e-9,
    )

    def made(**options):
        heating = surface(
            wall.near, area=wall.area, film=[0.0, 900.0, 20.0], recovery=[300.0, 800.0, 290.0], time=[0, 4, 6]
        )
        settings = {
            "models": (wall.model,),
            "surfaces": (heating,),
            "sinks": (Sink(nodes=wall.far, conductance=[0.5, 1.0], temperature=290.0),),
            "start": np.full(wall.model.volume.size, 300.0),
            "end_time": 30.0,
            "kinks": (4.0, 6.0),
        }
        return HeatCase(**(settings | options))

    return made


@pytest.fixture
def no_numba(monkeypatch):
    """Block numba as if it had never been installed."""
    real = builtins.__import__

    def blocked(name, *arguments, **options):
        if name.split(".")[0] == "numba":
            raise ModuleNotFoundError(f"No module named {name!r}", name=name)
        return real(name, *arguments, **options)

    for name in [name for name in sys.modules if name.startswith(("numba", "optitip.solvers."))]:
        if name.startswith("numba") or "compiled" in name or name.endswith("lanes"):
            monkeypatch.delitem(sys.modules, name)
    monkeypatch.setattr(builtins, "__import__", blocked)
    batch.compiled_march.cache_clear()
    yield
    batch.compiled_march.cache_clear()


@pytest.mark.usefixtures("no_numba")
def test_without_numba_the_plain_march_serves(case):
    assert batch.compiled_march() is None
    good = case()
    bad = case(
        surfaces=(
            replace(good.surfaces[0], film=1e300 * np.ones((3, 2, 1)), recovery=np.full((3, 2), 1e300)),
        )
    )
    first, failed, cold = batch.march_batch([good, bad, case(start=np.full(good.start.size, 20.0))])
    assert np.array_equal(first[0].temperature, march_together(good)[0].temperature)
    assert isinstance(failed, DesignFailure)
    assert failed.outcome is Outcome.MARCH_STALLED
    assert cold.outcome is Outcome.OUT_OF_RANGE


def test_a_broken_kernel_is_no_missing_extra(monkeypatch):
    monkeypatch.setitem(sys.modules, "optitip.solvers.compiled", None)
    batch.compiled_march.cache_clear()
    with pytest.raises(ModuleNotFoundError, match="compiled"):
        batch.compiled_march()
    batch.compiled_march.cache_clear()


def test_with_numba_a_small_column_marches_as_in_the_plain_path(case):
    assert batch.compiled_march() is not None
    insulated = case(
        surfaces=(case().surfaces[0],), sinks=(), tolerance=0.05, end_time=3.0, start_time=1.0, kinks=()
    )
    for found, given in zip(batch.march_batch([case(), insulated]), [case(), insulated], strict=True):
        (plain,) = march_together(given)
        assert found[0].steps == plain.steps
        assert found[0].temperature == pytest.approx(plain.temperature, rel=1e-9)
        assert found[0].balance == pytest.approx(plain.balance, abs=1e-9)


def test_no_cases_give_no_results():
    assert batch.march_batch([]) == []


def test_the_record_can_t_be_written_over(case):
    (found,) = batch.march_batch([case()])
    for key in ("time", "temperature", "slope", "slope_after", "highest", "evaporated", "sensible", "sunk"):
        assert not getattr(found[0], key).flags.writeable


def test_a_march_that_ends_where_it_starts_is_its_start(case):
    (found,) = batch.march_batch([case(end_time=0.0)])
    (plain,) = march_together(case(end_time=0.0))
    assert found[0].time.tolist() == plain.time.tolist() == [0.0]
    assert found[0].steps == 0
    assert found[0].temperature == pytest.approx(plain.temperature, rel=1e-12)
