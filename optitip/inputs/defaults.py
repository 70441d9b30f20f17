"""The lengths a study leaves out, scaled to the tip so that a starter study is buildable."""

from dataclasses import dataclass

from optitip.inputs.study_tables import StudyTables

TIP_RADIUS_SHARE = 0.04
"""Of the diameter: the tip radius of a family that gives none."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Lengths:
    """Every length along and across the tip [m]; ``base_thickness`` is None for a solid base."""

    turned_length: float
    tip_radius: float
    plug_length: float
    plug_wall: float
    fillet: float
    fore_taper: float
    band_length: float
    band_thickness: float
    band_thickness_aft: float
    aft_taper: float
    base_thickness: float | None
    pocket_offset: float
    pocket_length: float


def _or(value: float | None, default: float) -> float:
    return default if value is None else value


def completed_lengths(tables: StudyTables, *, diameter: float, length: float) -> Lengths:
    """Return the study's lengths with the missing ones filled in.

    The tip is turned over 1.5 diameters (never more than nine tenths of the outline) with a tip radius of
    4 % of the diameter. The plug is 0.35 of the turned length, the band 0.35, each taper 0.05; the plug's
    wall is twice and the base three times the band's thickness, the fillet 1 mm; the pocket leaves a
    twentieth of the band free at each end. Rules of the house, no source.

    diameter, length: of the outline [m].
    """
    tip, pocket = tables.tip, tables.sample.pocket
    turned = _or(tables.outline.turned_length, min(1.5 * diameter, 0.9 * length))
    band = _or(tip.band.length, 0.35 * turned)
    offset = _or(pocket.offset, 0.05 * band)
    return Lengths(
        turned_length=turned,
        tip_radius=_or(tables.outline.tip_radius, TIP_RADIUS_SHARE * diameter),
        plug_length=_or(tip.plug.length, 0.35 * turned),
        plug_wall=_or(tip.plug.wall, 2.0 * tip.band.thickness),
        fillet=_or(tip.plug.fillet, 1e-3),
        fore_taper=_or(tip.fore_taper, 0.05 * turned),
        band_length=band,
        band_thickness=tip.band.thickness,
        band_thickness_aft=_or(tip.band.thickness_aft, tip.band.thickness),
        aft_taper=_or(tip.aft_taper, 0.05 * turned),
        base_thickness=None if tip.base.solid else _or(tip.base.thickness, 3.0 * tip.band.thickness),
        pocket_offset=offset,
        pocket_length=_or(pocket.length, band - 2.0 * offset),
    )
