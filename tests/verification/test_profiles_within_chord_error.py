"""Every family's outside and cavity, as arcs and lines, lie within the stated 5 um of their formulas."""

from functools import partial

import numpy as np
import pytest
from curves_by_formula import dense_band, dense_outline, distances

from optitip.errors import DesignFailure, UserMistakes
from optitip.export.parts.arcs import CHORD_ERROR
from optitip.export.parts.section import Materials, tip_section
from optitip.geometry.chain import build_cavity
from optitip.geometry.families import sharp_profile
from optitip.geometry.measured import smooth_profile
from optitip.geometry.outline import family_outline, smoothed_outline
from optitip.geometry.shell import shell_profile
from optitip.geometry.tip import TipDesign
from optitip.inputs.study_tables import OutlineFamily

KINDS = [*OutlineFamily, "measured"]
ROUND_OFF = 2e-8  # [m] the outline's own cubics and the dense chords


def drawn_outline(draw, kind):
    """Return an outline and its dense points, slopes and arc lengths by the formula."""
    diameter = draw.uniform(0.025, 0.2)
    length = diameter * draw.uniform(1.3, 7.0)
    family = OutlineFamily.VON_KARMAN if kind == "measured" else kind
    exponents = {OutlineFamily.POWER: draw.uniform(0.5, 1.0), OutlineFamily.PARABOLA: draw.uniform(0.0, 1.0)}
    shape = {"diameter": diameter, "length": length, "exponent": exponents.get(family)}
    turned, radius = length * draw.uniform(0.3, 0.9), diameter * draw.uniform(0.01, 0.15)
    own = family is OutlineFamily.ELLIPSE and bool(draw.random() < 0.5)
    sharp = partial(sharp_profile, family=family, **shape)
    if kind == "measured":
        z = np.linspace(0.0, length, 200)
        noise = 2e-5 * draw.standard_normal(z.size)
        measured = smooth_profile(z, sharp(z)[0] + noise * (z > 0.0), tolerance=3e-5)
        outline = smoothed_outline(measured, turned_length=turned, tip_radius=radius)
        return outline, dense_outline(
            measured, length=length, tip_radius=radius, turned_length=outline.turned_length
        )
    outline = family_outline(family, **shape, turned_length=turned, tip_radius=None if own else radius)
    return outline, dense_outline(sharp, length=length, tip_radius=radius, turned_length=turned, own_nose=own)


def drawn_design(draw, outline):
    length, radius = outline.turned_length, float(outline.radius[-1])
    band, plug = length * draw.uniform(0.1, 0.5), length * draw.uniform(0.08, 0.5)
    thickness = draw.uniform(5e-4, max(0.15 * radius, 6e-4))
    return TipDesign(
        plug_length=plug,
        plug_wall=draw.uniform(5e-4, 0.4 * radius),
        plug_fillet=draw.uniform(2e-4, 3e-3),
        fore_taper=length * draw.uniform(0.01, 0.2),
        band_length=band,
        thickness_fore=thickness,
        thickness_aft=thickness * draw.uniform(0.5, 2.0),
        aft_taper=length * draw.uniform(0.005, 0.2),
        base_thickness=radius * draw.uniform(0.03, 0.5),
        pocket_offset=0.0,
        pocket_length=band,
    )


def cases(kind, *, count, seed):
    draw = np.random.default_rng([seed, KINDS.index(kind)])
    made = 0
    while made < count:
        try:
            outline, dense = drawn_outline(draw, kind)
            cavity = build_cavity(drawn_design(draw, outline), outline=outline)
        except (DesignFailure, UserMistakes):
            continue
        made += 1
        yield cavity, dense


def worst(kind, *, count, seed):
    """Return the largest distance [m] of outside, band and base from the formula over random designs."""
    share = np.linspace(0.0, 1.0, 41)
    found = []
    for cavity, (points, slope, arc) in cases(kind, count=count, seed=seed):
        section = tip_section(shell_profile(cavity), materials=Materials(shell="6061-T6"))
        design, start = cavity.design, cavity.band_arc[0]
        band = dense_band(
            points,
            slope,
            arc,
            start=start,
            length=design.band_length,
            fore=design.thickness_fore,
            aft=design.thickness_aft,
        )
        outside = np.vstack([one.points(share) for one in section.outer])
        inside = np.vstack([one.points(share) for one in section.inner])
        z = inside[:, 0]
        of_band = inside[(z >= cavity.band_fore[1]) & (z <= cavity.band_aft[1])]
        found.append((distances(outside, points).max(), distances(of_band, band).max()))
    return np.array(found).max(axis=0)


@pytest.mark.parametrize("kind", KINDS)
def test_outside_and_band_are_within_the_chord_error(kind):
    assert worst(kind, count=6, seed=1).max() <= CHORD_ERROR + ROUND_OFF


@pytest.mark.long
@pytest.mark.parametrize("kind", KINDS)
def test_two_hundred_of_each_family_are_within_the_chord_error(kind):
    assert worst(kind, count=200, seed=2).max() <= CHORD_ERROR + ROUND_OFF
