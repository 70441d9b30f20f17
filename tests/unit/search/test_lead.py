import pytest

from optitip.inputs.study_tables import LedBy
from optitip.search.lead import PAYS_FROM, Lead, as_begun, chosen_lead


@pytest.mark.parametrize(
    ("seconds", "lead"), [(0.5 * PAYS_FROM, Lead.GENETIC), (2.0 * PAYS_FROM, Lead.SURROGATE)]
)
def test_what_an_evaluation_costs_chooses_and_is_said(seconds, lead):
    chosen = chosen_lead(LedBy.BY_COST, seconds=seconds)
    assert chosen.lead is lead
    assert f"{1e3 * seconds:.3g} ms" in chosen.said


@pytest.mark.parametrize(
    ("wanted", "lead"), [(LedBy.GENETIC, Lead.GENETIC), (LedBy.SURROGATE, Lead.SURROGATE)]
)
@pytest.mark.parametrize("seconds", [1e-6, 10.0])
def test_a_study_that_names_its_lead_has_it_at_any_cost(wanted, lead, seconds):
    assert chosen_lead(wanted, seconds=seconds).lead is lead


def test_a_run_taken_up_says_what_leads_it():
    assert as_begun(Lead.GENETIC) == "Breeding alone (NSGA-II) leads the search, as from its start."
