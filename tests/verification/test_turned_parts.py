"""Random tips as turned: curves join and never lead fore, parts go together and have their metal."""

import csv
import itertools
import math

import numpy as np
import pytest
from curves_by_formula import distances
from turned_tips import random_tips

from optitip.evaluate.laps import laps_of
from optitip.export.coordinates import write_part_coordinates
from optitip.export.parts.arcs import wrapped
from optitip.export.parts.profile import radius_at, revolved_volume
from optitip.export.parts.turned import mass_note, turned_parts
from optitip.geometry.lap import LapKind
from optitip.geometry.sides import cell_volumes
from optitip.geometry.topology import Zone
from optitip.units import System

COUNT = 120
SHARE = np.linspace(0.0, 1.0, 33)


@pytest.fixture(scope="module")
def tips():
    return [(tip, turned_parts(tip)) for tip in itertools.islice(random_tips(3), COUNT)]


def dense(one):
    """Return how many points a segment gets, so that they stand some 20 um apart."""
    return 20 + int(one.chord / 2e-5)


def curves(tips):
    """Yield every part, each of its curves, and on which side of it the tool is: 1 left, -1 right."""
    for _, parts in tips:
        for part in parts:
            yield part, part.outer, 1.0
            yield part, part.inner, -1.0


def test_the_random_tips_are_of_every_kind(tips):
    kinds = {(lap.joint, lap.kind, tip.cavity.design.solid_base) for tip, _ in tips for lap in laps_of(tip)}
    assert {("base", kind, solid) for kind in LapKind for solid in (True, False)} <= kinds
    assert any(joint == "plug" for joint, _, _ in kinds)
    assert {len(parts) for _, parts in tips} == {1, 2, 3}


def test_curves_are_unbroken_and_never_lead_fore(tips):
    for part, curve, _ in curves(tips):
        for before, after in itertools.pairwise(curve):
            assert math.dist(before.end, after.start) < 1e-12, part.name
        z = np.concatenate([one.points(SHARE)[:, 0] for one in curve])
        assert np.diff(z).min() > -1e-12


def test_an_inside_corner_has_the_tools_radius_or_is_named(tips):
    """Drilled and tapped holes on the axis are no turning tool's."""
    found = 0
    for part, curve, side in curves(tips):
        for before, after in itertools.pairwise(curve):
            turn = side * wrapped(after.start_direction - before.end_direction)
            drilled = before.start[1] == 0.0 and before.start[0] == before.end[0]
            assert turn < 2e-3 or before.end in part.sharp or drilled, (part.name, before, after)
        for one in curve:
            if side * one.bulge > 0.0 and one.start not in part.sharp:
                assert one.radius >= part.nose_radius * (1.0 - 1e-9)
                found += abs(one.radius / part.nose_radius - 1.0) < 1e-9
    assert found > 2 * COUNT


def test_the_table_of_a_part_is_its_curves_from_both_ends(tips, tmp_path):
    for _, parts in tips[:30]:
        for part in parts:
            with write_part_coordinates(part, folder=tmp_path, step=None).open(newline="") as file:
                rows = [[float(cell or "nan") for cell in row] for row in list(csv.reader(file))[1:]]
            fore, aft, outside, bore, _, _, station = np.array(rows).T
            length = 1e3 * (part.end - part.start)
            assert fore + aft == pytest.approx(np.full(len(fore), length), abs=2e-4)
            assert (fore[0], aft[-1]) == pytest.approx((0.0, 0.0), abs=1e-4)
            assert station - fore == pytest.approx(np.full(len(fore), 1e3 * part.start), abs=2e-4)
            assert np.all(outside >= bore)
            for radius, curve in ((outside, part.outer), (bore, part.inner)):
                points = 1e3 * np.vstack([one.points(np.linspace(0.0, 1.0, dense(one))) for one in curve])
                inside = (station > points[0, 0] + 0.01) & (station < points[-1, 0] - 0.01)
                rows_on = np.column_stack([station[inside], 0.5 * radius[inside]])
                kept = points[np.hypot(*np.diff(points, axis=0, prepend=-1.0).T) > 0.0]
                if len(rows_on) and len(kept) > 1:
                    assert distances(rows_on, kept).max() < 5e-4, part.name


def test_the_parts_go_together(tips):
    """Nowhere is a spigot wider than the recess around it, but where the two threads' flanks engage."""
    compared = 0
    for tip, parts in tips:
        for lap in laps_of(tip):
            fore, aft = parts[:2] if lap.joint == "plug" else parts[-2:]
            if any("relieve" in note for note in fore.notes):
                continue
            compared += 1
            for one in fore.outer:
                for z, r in one.points(np.linspace(0.0, 1.0, 17)):
                    if z <= lap.start + 1e-9:
                        continue
                    room = radius_at(aft.inner, z) - r
                    engaged = [cut for cut in fore.threads if cut.external and in_turns(z, cut)]
                    assert room > (-1e-9 if not engaged else -0.542 * engaged[0].thread.pitch), (lap, z)
            assert fore.end < lap.end - 1e-5
            assert aft.start == pytest.approx(lap.start, abs=1e-12)
    assert compared > COUNT / 2


def in_turns(z, cut):
    """Return whether a station lies in a thread or the slopes that lead to it."""
    return cut.start - cut.thread.pitch < z < cut.end + cut.thread.pitch


def test_parts_with_laps_have_the_metal_of_the_mesh_but_for_the_voids_of_the_fit(tips):
    """Groove, thread's depth, gap at the end, chamfer; in a solid base also what the recess takes."""
    compared = 0
    for tip, parts in tips:
        laps = laps_of(tip)
        if not laps:
            continue
        compared += 1
        volumes = cell_volumes(tip.mesh.points, tip.mesh.cells)
        expected = volumes[tip.mesh.cell_zone < Zone.SLAB].sum() - drilled(parts, tip=tip, lap=laps[-1])
        for lap in laps:
            fore, aft = parts[:2] if lap.joint == "plug" else parts[-2:]
            expected -= fit_void(lap, fore=fore, aft=aft, cavity=tip.cavity)
        found = sum(revolved_volume(part.closed) for part in parts)
        assert found == pytest.approx(expected, rel=3e-3), [lap.kind for lap in laps]
    assert compared > COUNT / 2


def fit_void(lap, *, fore, aft, cavity):
    """Return what neither part fills round a fit, threads as drawn, by cylinders and cones [m3]."""
    chamfer = aft.inner[0].start[1] - lap.recess
    area_by_length = chamfer**2 * (lap.recess + chamfer / 3.0)
    if lap.thread is not None:
        groove = lap.root - min(1e-4, 0.1 * lap.spigot_wall)
        area_by_length += (lap.recess**2 - groove**2) * lap.relief
        area_by_length -= (lap.radius**2 - lap.recess**2) * lap.engaged
        plain = fore.end - lap.start - lap.relief - lap.engaged
        area_by_length += (lap.recess**2 - lap.root**2) * plain
        for foot in (groove, lap.root):
            slope = lap.radius - foot
            area_by_length -= slope**2 * (foot + slope / 3.0)
    inside = 0.0 if lap.joint == "plug" else fore.inner[-1].end[1]
    if lap.joint == "base" and cavity.design.solid_base:
        (inside, face), bore = cavity.base_corner, cavity.design.base_bore or 0.0
        area_by_length += (inside**2 - bore**2) * (lap.end - face)
    return math.pi * (area_by_length + (lap.recess**2 - inside**2) * (lap.end - fore.end))


def drilled(parts, *, tip, lap):
    """Return what a tie rod's holes take, of the shell and of a base closed or narrow [m3]."""
    fixing = tip.tables.tip.base.fixing
    if fixing is None or fixing.rod is None:
        return 0.0
    face, shell = tip.cavity.design.plug_length, next(one for one in parts if one.name == "shell")
    [cut] = [one for one in shell.threads if not one.external and one.end == face]
    bottoms = [one.start[0] for one in shell.inner if one.start[1] == 0.0 and one.start[0] == one.end[0]]
    depth = face - max(one for one in bottoms if one < face - 1e-6)
    taken = cut.thread.minor**2 / 4.0 * depth
    if tip.cavity.design.solid_base:
        bore, hole = tip.cavity.design.base_bore or 0.0, parts[-1].inner[-1].end[1]
        taken += (hole**2 - bore**2) * (parts[-1].end - lap.end)
    return math.pi * taken


def test_the_nose_is_its_sphere_to_a_nanometre(tips):
    for tip, parts in tips:
        nose = parts[0].outer[0]
        if tip.outline.sphere_arc > 0.0:
            assert nose.radius == pytest.approx(tip.outline.tip_radius, abs=1e-9)
            assert nose.centre == pytest.approx((tip.outline.tip_radius, 0.0), abs=1e-9)


def test_the_note_on_mass_names_both_figures(tips):
    tip, parts = next((tip, parts) for tip, parts in tips if len(parts) == 2 and laps_of(tip))
    density = tip.materials[0].density
    note = mass_note(parts, tip=tip)
    assert f"{1e3 * density * sum(one.volume for one in parts):.4g} g as finished" in note
    assert "spigots" in note
    pounds = density * sum(one.volume for one in parts) / 0.45359237
    in_pounds = mass_note(parts, tip=tip, system=System.US)
    assert f"{pounds:.4g} lb as finished" in in_pounds
    assert " g " not in in_pounds
