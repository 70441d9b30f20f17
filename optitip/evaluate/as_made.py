"""The prediction redone with the part as measured: wall by least squares, lengths by key, a check by mass."""

from collections.abc import Iterator, Mapping
from dataclasses import asdict, dataclass
from typing import Any

import numpy as np

from optitip.arrays import FloatArray
from optitip.errors import DesignFailure, UserMistakes
from optitip.evaluate.assess import check
from optitip.evaluate.assessment import Assessment
from optitip.evaluate.building import Tip, build_tip
from optitip.evaluate.drawn import AFT, FORE, drawn_lengths, with_the_rest_held
from optitip.evaluate.gauged import Gauged, gauged, mistakes_of_lengths, mistakes_of_masses
from optitip.evaluate.record import as_mapping
from optitip.evaluate.weights import weights_of
from optitip.geometry.mesh import DEFAULT_RESOLUTION
from optitip.inputs.as_made import MEASURABLE, Measured
from optitip.inputs.keys import value_at
from optitip.inputs.study import Study
from optitip.metrics.values import Design

SAME = 5e-8
"""[m] A reading this near the drawing is the drawing's own: nobody measures finer"""
APART = 1.0 / 3.0
"""Of the band's length: readings nearer together say nothing of its taper"""
_NUDGE = 1e-5  # [m] of the wall, to either side, for what it weighs


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WallFit:
    """The wall [m] through readings by least squares, fore and aft, and how far they lie off it.

    ``alike`` where the readings lie too near each other, so that both ends move by their mean. ``residual``
    is the root of their mean square off the fit [m], ``worst`` the farthest of them off it.
    """

    drawn: tuple[float, float]
    fore: float
    aft: float
    count: int
    alike: bool
    residual: float
    worst: float


@dataclass(frozen=True, slots=True, kw_only=True)
class MassCheck:
    """A mass [kg] on the balance beside the predicted one.

    ``wall`` [m] is how much thicker all along the band's wall would have to be to explain the difference.
    """

    what: str
    predicted: float
    balance: float
    wall: float | None = None

    @property
    def difference(self) -> float:
        """Return how much heavier the part is than predicted [kg]."""
        return self.balance - self.predicted


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class AsMade:
    """A measured part and what it does: ``lengths`` [m] are (key, drawn, measured), in the drawing's order.

    outside: readings of the outside diameter, as (place, drawn, measured) [m]; the model keeps the drawn one.
    beyond: what is off by more than the study's tolerance, as (what, off, tolerance) [m].
    """

    file: str
    lengths: tuple[tuple[str, float, float], ...]
    outside: tuple[tuple[str, float, float], ...]
    wall: WallFit | None
    masses: tuple[MassCheck, ...]
    beyond: tuple[tuple[str, float, float], ...]
    design: Design
    study: Study
    assessment: Assessment


def as_made(study: Study, *, measured: Measured) -> AsMade:
    """Return the answer of the study's part as it was measured, all that wasn't measured as drawn.

    Raises UserMistakes for readings that can't be, DesignFailure and OutOfRange as ``check`` does; the place
    of a part that can't be is the file of readings.
    """
    try:
        return _as_made(study, measured)
    except DesignFailure as failure:
        place = f"{measured.file}, {failure.place}"
        raise DesignFailure(failure.outcome, place=place, detail=failure.detail) from None


def _as_made(study: Study, measured: Measured) -> AsMade:
    drawn = drawn_lengths(study)
    tip = _built(study)
    mistakes = [
        *mistakes_of_lengths(measured, drawn=drawn),
        *mistakes_of_masses(measured, weights=weights_of(tip)),
    ]
    if mistakes:
        raise UserMistakes(mistakes)
    values = _measured_lengths(study, measured, drawn=drawn)
    placed = _built(_with(study, values)) if values else tip
    found = gauged(measured, tip=placed)
    wall = None if not found.walls else fitted(found, tip=placed)
    if wall is not None:
        values |= _changed({FORE: wall.fore, AFT: wall.aft}, drawn=drawn)
    design = with_the_rest_held(study, values) if values else {}
    made = study.with_design(design)
    return AsMade(
        file=measured.file,
        lengths=tuple((key, drawn[key], measured.lengths[key]) for key in drawn if key in measured.lengths),
        outside=found.outside,
        wall=wall,
        beyond=tuple(_beyond(study, values, drawn=drawn)),
        masses=_masses(study, measured, values={**drawn, **values}, made=made),
        design=design,
        study=made,
        assessment=check(made),
    )


def _beyond(
    study: Study, values: Mapping[str, float], *, drawn: Mapping[str, float]
) -> Iterator[tuple[str, float, float]]:
    turning = study.tables.turning
    for key, allowed in (
        (FORE, turning.wall_tolerance),
        (AFT, turning.wall_tolerance),
        ("sample.slab.thickness", turning.slab_tolerance),
        ("tip.plug.length", turning.bore_depth_tolerance),
    ):
        off = values.get(key, drawn[key]) - drawn[key]
        if abs(off) > allowed + SAME:
            yield MEASURABLE[key], off, allowed


def _built(study: Study) -> Tip:
    return build_tip(study.tables, folder=study.folder, resolution=DEFAULT_RESOLUTION)


def _with(study: Study, values: Mapping[str, float]) -> Study:
    return study.with_design(with_the_rest_held(study, values))


def _measured_lengths(study: Study, measured: Measured, *, drawn: Mapping[str, float]) -> dict[str, float]:
    """Return the lengths that differ from the drawing; a wall drawn as one thickness is measured as one."""
    lengths = dict(measured.lengths)
    if FORE in lengths and AFT not in lengths and value_at(study.raw, AFT) is None:
        lengths[AFT] = lengths[FORE]
    return _changed(lengths, drawn=drawn)


def _changed(lengths: Mapping[str, float], *, drawn: Mapping[str, float]) -> dict[str, float]:
    return {key: value for key, value in lengths.items() if abs(value - drawn[key]) > SAME}


def fitted(found: Gauged, *, tip: Tip) -> WallFit:
    """Return the wall through readings: what they are off the drawn one, straight from fore to aft.

    Least squares on off = (1 - x) fore + x aft with the share x of the band's arc; readings that lie within a
    third of the band, or a single one, move both ends by their mean.
    """
    fore, aft = tip.cavity.band_arc
    arc, thickness = (np.array(column) for column in zip(*found.walls, strict=True))
    share = (arc - fore) / (aft - fore)
    off = thickness - tip.cavity.wall_thickness(arc)
    alike = bool(np.ptp(share) < APART)
    ends = np.full(2, off.mean()) if alike else _straight(share, off)
    left = off - ((1.0 - share) * ends[0] + share * ends[1])
    drawn = (tip.lengths.band_thickness, tip.lengths.band_thickness_aft)
    return WallFit(
        drawn=drawn,
        fore=drawn[0] + float(ends[0]),
        aft=drawn[1] + float(ends[1]),
        count=len(arc),
        alike=alike,
        residual=float(np.sqrt(np.mean(left**2))),
        worst=float(np.abs(left).max()),
    )


def _straight(share: FloatArray, off: FloatArray) -> FloatArray:
    ends, *_ = np.linalg.lstsq(np.column_stack([1.0 - share, share]), off, rcond=None)
    return np.asarray(ends)


def _masses(
    study: Study, measured: Measured, *, values: Mapping[str, float], made: Study
) -> tuple[MassCheck, ...]:
    """Return the masses on the balance beside those of the part as made."""
    weights = weights_of(_built(made))
    checks = []
    if measured.mass is not None:
        predicted = weights.shell["shell.mass"]
        a_metre = _wall_weighs(study, values)
        wall = None if a_metre is None else (measured.mass - predicted) / a_metre
        checks.append(MassCheck(what="shell", predicted=predicted, balance=measured.mass, wall=wall))
    if measured.slab_mass is not None:
        checks.append(MassCheck(what="slab", predicted=weights.slab_mass, balance=measured.slab_mass))
    return tuple(checks)


def _wall_weighs(study: Study, values: Mapping[str, float]) -> float | None:
    """Return what a wall thicker all along weighs more [kg/m]; None where it can't be built."""
    changed = _changed(values, drawn=drawn_lengths(study))
    masses = []
    for nudge in (-_NUDGE, _NUDGE):
        walls = {FORE: values[FORE] + nudge, AFT: values[AFT] + nudge}
        try:
            tip = _built(_with(study, {**changed, **walls}))
        except DesignFailure:
            return None
        masses.append(weights_of(tip).shell["shell.mass"])
    return (masses[1] - masses[0]) / (2.0 * _NUDGE)


def as_made_mapping(made: AsMade) -> dict[str, Any]:
    """Return a part as made as plain mappings for JSON, SI throughout, without its histories."""
    answer = as_mapping(made.assessment)
    return {
        "file": made.file,
        "lengths": {key: {"as_drawn": drawn, "measured": read} for key, drawn, read in made.lengths},
        "outside": [
            {"place": place, "as_drawn": drawn, "measured": read} for place, drawn, read in made.outside
        ],
        "wall": None if made.wall is None else asdict(made.wall),
        "beyond": [{"what": what, "off": off, "tolerance": most} for what, off, most in made.beyond],
        "masses": [asdict(one) for one in made.masses],
        **{key: answer[key] for key in ("design", "outcome", "metrics", "targets", "limits", "warnings")},
    }
