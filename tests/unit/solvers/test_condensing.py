from dataclasses import replace

import numpy as np
import pytest

from optitip.solvers.assembly import assemble
from optitip.solvers.body import ColdSide
from optitip.solvers.case import HeatCase
from optitip.solvers.march import march_together

BOILING = 373.15


@pytest.fixture
def steaming(column, solid, surface):
    """Return a case of wet slabs heated from one side, a share of the vapour condensing on the other."""
    wet = solid(0.6, heat_capacity=4e6, boiling=BOILING, latent_heat=1.6e9)
    slab = column((np.linspace(0.0, 3e-3, 31), wet))
    model = assemble(replace(slab.body, cold_side=ColdSide(nodes=slab.far, area=slab.area)))
    heated = surface(slab.near, area=slab.area, film=2e3, recovery=600.0)

    def made(*shares, end_time=5.0, tolerance=0.02):
        return HeatCase(
            models=(model,) * len(shares),
            surfaces=(heated,) * len(shares),
            start=np.full(model.volume.size, 300.0),
            end_time=end_time,
            tolerance=tolerance,
            condensed=shares,
        )

    return made


def test_what_condenses_is_the_share_of_what_boiled(steaming):
    none, some, more = march_together(steaming(0.0, 0.1, 0.2))
    for history, share in ((none, 0.0), (some, 0.1), (more, 0.2)):
        boiled = history.latent[-1].sum()
        assert boiled > 1e4
        # the vapour of the last step is still on its way
        assert history.condensed[-1] == pytest.approx(share * boiled, rel=0.05)
        assert history.condensed[-1] <= share * boiled
        assert abs(history.closure) < 1e-12


def test_a_cold_side_at_the_boiling_point_takes_what_it_can_conduct_away(steaming):
    (history,) = march_together(steaming(1.0))
    # a half space held 73 K hotter takes 2 k dT sqrt(t / (pi a)), most of it in the time the face boils
    most = 2.0 * 0.6 * 73.15 * np.sqrt(5.0 / (np.pi * 0.6 / 4e6))
    assert 0.5 * most < history.condensed[-1] < most < history.latent[-1].sum()


def test_the_cold_side_warms_by_it_and_never_passes_the_boiling_point(steaming):
    dry, wet = march_together(steaming(0.0, 1.0, end_time=30.0))
    assert wet.temperature[:, -1].max() > dry.temperature[:, -1].max() + 5.0
    assert wet.temperature[:, -1].max() <= BOILING + 0.01


def test_once_the_cold_side_boils_no_vapour_finds_room(steaming):
    (history,) = march_together(steaming(1.0, end_time=400.0))
    assert history.condensed[-1] < 0.5 * history.latent[-1].sum()


def test_without_a_cold_side_nothing_condenses(steaming):
    case = steaming(1.0)
    none = ColdSide(nodes=np.empty(0, dtype=np.int64), area=np.empty(0))
    model = replace(case.models[0], cold_side=none)
    (history,) = march_together(replace(case, models=(model,)))
    assert history.condensed[-1] == 0.0


def test_finer_steps_give_the_same_heat_back(steaming):
    coarse, fine = (march_together(steaming(1.0, tolerance=tolerance))[0] for tolerance in (0.1, 0.005))
    assert coarse.sensible[-1].sum() == pytest.approx(fine.sensible[-1].sum(), rel=0.01)


def test_what_decomposes_elsewhere_in_the_body_gives_no_vapour_to_condense(column, solid, surface):
    resin = solid(0.3, heat_capacity=2e6, decomposition=400.0, latent_heat=1e8)
    wet = solid(0.6, heat_capacity=4e6, boiling=BOILING, latent_heat=1.6e9)
    layers = column((np.linspace(0.0, 2e-3, 21), resin), (np.linspace(2e-3, 4e-3, 5), wet), joints=(1e4,))
    model = assemble(replace(layers.body, cold_side=ColdSide(nodes=layers.far, area=layers.area)))
    case = HeatCase(
        models=(model,),
        surfaces=(surface(layers.near, area=layers.area, film=2e3, recovery=900.0),),
        start=np.full(model.volume.size, 300.0),
        end_time=3.0,
        condensed=(1.0,),
    )
    (history,) = march_together(case)
    assert history.latent[-1, 0] > 1e4
    assert history.latent[-1, 1] == 0.0
    assert history.condensed[-1] == 0.0
