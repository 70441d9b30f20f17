"""Rows of a run's store as they are read back: into arrays, or whole."""

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from optitip.arrays import FloatArray
from optitip.errors import Outcome
from optitip.metrics.values import Bracketed, Evaluation
from optitip.search.evaluated import Evaluated
from optitip.search.executors.face import States
from optitip.search.records import Record


def evaluated_of(
    rows: Sequence[tuple[int, str, str, str, float, bytes | None]],
    *,
    metrics: Sequence[str],
    places: Mapping[str, int],
) -> Evaluated:
    """Return rows of the store as arrays; ``places`` tells where in a row's figures each metric stands."""
    numbers, names, states, outcomes, seconds, blobs = zip(*rows, strict=True)
    return Evaluated(
        numbers=np.array(numbers, dtype=np.int64),
        design_ids=np.array(names),
        states=np.array([_STATES[one] for one in states], dtype=np.uint8),
        outcomes=np.array([_OUTCOMES[one] for one in outcomes], dtype=np.uint8),
        seconds=np.array(seconds),
        metrics=tuple(metrics),
        figures=_gathered(blobs, places=[places.get(name, -1) for name in metrics], most=len(places)),
        points=np.zeros((len(rows), 0)),
    )


def _gathered(blobs: Sequence[bytes | None], *, places: Sequence[int], most: int) -> FloatArray:
    """Return the figures (n, m, 3) at some places of the rows' blobs; -1 is a metric nobody has."""
    whole = 24 * most  # a writer at work may have added metrics since their names were read
    nothing = np.full(3 * most, np.nan).tobytes()
    padded = b"".join(one if one and len(one) == whole else _fitted(one, nothing) for one in blobs)
    every = np.frombuffer(padded, dtype="<f8").reshape(len(blobs), most, 3)
    gathered: FloatArray = np.full((len(blobs), len(places), 3), np.nan)
    for column, place in enumerate(places):
        if place >= 0:
            gathered[:, column] = every[:, place]
    return gathered


def _fitted(blob: bytes | None, nothing: bytes) -> bytes:
    """Return a row's figures as long as ``nothing``, which stands for those it lacks."""
    known = (blob or b"")[: len(nothing)]
    return known + nothing[len(known) :]


_STATES = {states.value: code for code, states in enumerate(States)}
_OUTCOMES = {outcome.name: code for code, outcome in enumerate(Outcome)}


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """The names that a whole row needs to be read back, each kind in the order of its places."""

    names: Sequence[str]
    units: Mapping[str, str]
    flow_states: Sequence[str]

    def record(self, row: tuple[int, str, str, str, str, str, float, bytes | None, bytes | None]) -> Record:
        """Return a row as a record."""
        number, name, design, states, outcome, detail, seconds, figures, sides = row
        metrics = None if figures is None or sides is None else self._metrics(figures, sides)
        evaluation = Evaluation(outcome=Outcome[outcome], detail=detail, metrics=metrics, seconds=seconds)
        return Record(
            number=number,
            design_id=name,
            design=json.loads(design),
            states=States(states),
            evaluation=evaluation,
        )

    def _metrics(self, figures: bytes, sides: bytes) -> dict[str, Bracketed]:
        values = np.frombuffer(figures, dtype="<f8").reshape(-1, 3).tolist()
        places = np.frombuffer(sides, dtype="<u2").reshape(-1, 2).tolist()
        named = ["", *self.flow_states]
        return {
            name: Bracketed(
                unit=self.units[name],
                low=low,
                expected=expected,
                high=high,
                low_state=named[low_place],
                high_state=named[high_place],
            )
            for name, (low, expected, high), (low_place, high_place) in zip(
                self.names, values, places, strict=False
            )
            if expected == expected  # noqa: PLR0124 (NaN: this design has no such metric)
        }
