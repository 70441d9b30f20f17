"""The lengths of the part as it is drawn, by study key, those the study leaves out among them."""

from collections.abc import Mapping
from types import MappingProxyType

from optitip.evaluate.sources import outline_size
from optitip.inputs.defaults import completed_lengths
from optitip.inputs.keys import value_at
from optitip.inputs.study import Study

FORE, AFT = "tip.band.thickness", "tip.band.thickness_aft"
MEASURED = (0.05, 0.5, 0.95)
"""Of the band's arc: where its wall is measured, on drawing, card and as-made sheet alike; a choice"""


def drawn_lengths(study: Study) -> Mapping[str, float]:
    """Return each length [m] that the study's own part has, by its key, from the nose point aft."""
    tables = study.tables
    diameter, length = outline_size(tables.outline, folder=study.folder)
    chain = completed_lengths(tables, diameter=diameter, length=length)
    tip, sample = tables.tip, tables.sample
    lengths = {
        "outline.diameter": tables.outline.diameter,
        "outline.length": tables.outline.length,
        "outline.turned_length": chain.turned_length,
        "outline.tip_radius": chain.tip_radius,
        "tip.plug.length": chain.plug_length,
        "tip.plug.wall": chain.plug_wall,
        "tip.plug.fillet": chain.fillet,
        "tip.plug.insert": tip.plug.insert,
        "tip.fore_taper": chain.fore_taper,
        FORE: chain.band_thickness,
        AFT: chain.band_thickness_aft,
        "tip.band.length": chain.band_length,
        "tip.aft_taper": chain.aft_taper,
        "tip.base.thickness": chain.base_thickness,
        "tip.base.bore": tip.base.bore,
        "tip.coating.thickness": None if tip.coating is None else tip.coating.thickness,
        "sample.pocket.offset": chain.pocket_offset,
        "sample.pocket.length": chain.pocket_length,
        "sample.slab.thickness": sample.slab.thickness,
        "sample.backing.thickness": None if sample.backing is None else sample.backing.thickness,
    }
    return MappingProxyType({key: value for key, value in lengths.items() if value is not None})


def with_the_rest_held(study: Study, values: Mapping[str, float]) -> dict[str, str]:
    """Return the design that sets lengths [m] by key and holds all others as drawn.

    A length that the study leaves out scales with others: it is written down, so that it stays. The outline's
    own are written only beside another of them, since they count as a change of the outside.
    """
    outside = any(key.startswith("outline.") for key in values)
    kept = {
        key: value
        for key, value in drawn_lengths(study).items()
        if value_at(study.raw, key) is None and (outside or not key.startswith("outline."))
    }
    return {key: as_text(value) for key, value in {**kept, **values}.items()}


def as_text(length: float) -> str:
    """Return a length [m] as the text in a study that reads as exactly this number.

    >>> as_text(0.0012)
    '0.0012 m'
    """
    return f"{length!r} m"
