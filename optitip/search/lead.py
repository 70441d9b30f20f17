"""What leads a search once it is open: chosen by what an evaluation costs, decided once for a run."""

from dataclasses import dataclass
from enum import Enum

from optitip.inputs.study_tables import LedBy

PAYS_FROM = 5e-3
"""CPU time of an evaluation [s] from which Gaussian processes save more than they take."""
LED_UP_TO = 3000
"""Designs from which on processes bring no more, and breeding goes on."""


class Lead(Enum):
    """What proposes the designs: breeding alone, or processes learnt from the figures."""

    GENETIC = "genetic"
    SURROGATE = "surrogate"


@dataclass(frozen=True, slots=True, kw_only=True)
class Chosen:
    """A lead, and in words why it is this one."""

    lead: Lead
    said: str


def chosen_lead(wanted: LedBy, *, seconds: float) -> Chosen:
    """Return what leads where an evaluation takes ``seconds`` of CPU time, or what a study names.

    >>> chosen_lead(LedBy.BY_COST, seconds=0.031).said
    'An evaluation takes 31 ms of CPU time: Gaussian processes, up to 3,000 designs, lead the search.'
    """
    if wanted is not LedBy.BY_COST:
        lead = Lead[wanted.name]
        return Chosen(lead=lead, said=f"{_capital(_NAMES[lead])} the search, as the study says.")
    lead = Lead.GENETIC if seconds < PAYS_FROM else Lead.SURROGATE
    return Chosen(
        lead=lead,
        said=f"An evaluation takes {1e3 * seconds:.3g} ms of CPU time: {_NAMES[lead]} the search.",
    )


def as_begun(lead: Lead) -> str:
    """Return in words that a run goes on under the lead it began with."""
    return f"{_capital(_NAMES[lead])} the search, as from its start."


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


_NAMES = {
    Lead.GENETIC: "breeding alone (NSGA-II) leads",
    Lead.SURROGATE: f"Gaussian processes, up to {LED_UP_TO:,} designs, lead",
}
