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
    whole = 24 * (most + 1)
    nothing = np.full(whole // 8, np.nan).tobytes()
    known = whole - 24  # a writer at work may have added metrics since their names were read
    padded = b"".join((blob := (one or b"")[:known]) + nothing[len(blob) :] for one in blobs)
    every = np.frombuffer(padded, dtype="<f8").reshape(len(blobs), most + 1, 3)
    gathered: FloatArray = every[:, list(places)].astype(np.float64)
    return gathered


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
