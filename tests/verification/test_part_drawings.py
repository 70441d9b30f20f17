"""Each part's DXF says what it draws: texts, R12 and volume against the geometry and the mesh."""

import itertools
import math

import ezdxf
import numpy as np
import pytest
from random_studies import random_designs
from rebuilt import dimensions_of_dxf, volume_of_dxf, volume_of_r12
from turned_tips import built, random_tips

from optitip.errors import DesignFailure, UserMistakes
from optitip.evaluate.building import build_tip
from optitip.evaluate.laps import laps_of
from optitip.export.dxf import Title
from optitip.export.part_dxf import LAYERS, write_part_dxf
from optitip.export.parts.dimensions import DimensionUnits
from optitip.export.parts.profile import revolved_volume
from optitip.export.parts.turned import turned_parts
from optitip.geometry.mesh import DEFAULT_RESOLUTION
from optitip.geometry.sides import cell_volumes
from optitip.geometry.topology import Zone

TITLE = Title(design="k3f9", study="A study", version="0")
COUNT = 64


@pytest.fixture(scope="module")
def drawn(tmp_path_factory):
    """Return random tips, their parts, and the paths of each part's two files; every other in both units."""
    found = []
    units = itertools.cycle([DimensionUnits.MILLIMETRES, DimensionUnits.DUAL])
    for number, tip in enumerate(itertools.islice(random_tips(17), COUNT)):
        folder = tmp_path_factory.getbasetemp() / f"tip-{number}"
        unit = next(units)
        parts = turned_parts(tip)
        files = [write_part_dxf(part, title=TITLE, folder=folder, units=unit) for part in parts]
        found.append((tip, list(zip(parts, files, strict=True)), unit))
    return found


def test_files_are_clean_and_in_millimetres(drawn):
    for _, parts, _ in drawn[::5]:
        for _, (path, old) in parts:
            drawing, plain = ezdxf.readfile(path), ezdxf.readfile(old)
            for document in (drawing, plain):
                audit = document.audit()
                assert not audit.has_errors
                assert not audit.has_fixes
            assert (drawing.dxfversion, plain.dxfversion) == ("AC1024", "AC1009")
            assert (drawing.header["$INSUNITS"], drawing.header["$MEASUREMENT"]) == (4, 1)
            assert {one.dxf.layer for one in drawing.modelspace()} <= set(LAYERS)
            assert {one.dxftype() for one in plain.modelspace()} <= {"LINE", "ARC"}


def test_every_printed_number_is_what_its_own_points_measure(drawn):
    numbers = 0
    for _, parts, units in drawn:
        for part, (path, _) in parts:
            for one in dimensions_of_dxf(path):
                if one.number is None:
                    continue
                numbers += 1
                assert one.number == pytest.approx(one.measured, abs=0.0051), (part.name, one)
                if units is DimensionUnits.DUAL:
                    assert one.inches == pytest.approx(one.measured / 25.4, abs=0.00051), one
                else:
                    assert one.inches is None
    assert numbers > 1000


def test_what_is_measured_lies_on_the_profile_or_its_mirror(drawn):
    """A corner with an arc is measured where its sides would meet, an arc off at most."""
    for _, parts, _ in drawn[::4]:
        for part, (path, _) in parts:
            points = 1e3 * np.vstack([one.points(np.linspace(0.0, 1.0, 400)) for one in part.closed])
            room = 0.5 * 1e3 * part.nose_radius + 0.15
            radii = [one.radius for one in part.inner if 0 < one.radius < 5e-3]
            room = max(room, 0.7e3 * max(radii, default=0.0))
            for one in dimensions_of_dxf(path):
                if one.text.startswith("R") or one.number is None or "x " in one.text or ":" in one.text:
                    continue
                if "full" in one.text:
                    continue
                for x, y, _z in one.points:
                    gap = np.hypot(points[:, 0] - x, points[:, 1] - abs(y)).min()
                    assert gap < room + np.hypot(*np.diff(points, axis=0).T).max(), (part.name, one)


def test_r12_is_the_same_profile(drawn):
    for _, parts, _ in drawn:
        for part, (path, old) in parts:
            given = volume_of_dxf(path)
            assert volume_of_r12(old) == pytest.approx(given, rel=1e-9)
            assert given == pytest.approx(revolved_volume(part.closed) * 1e9, rel=1e-9)


def test_parts_without_a_lap_have_the_volume_of_the_mesh_that_was_solved(drawn):
    """Corners with the tool's arc and 5 um are in the 0.3 %."""
    compared = 0
    for tip, parts, _ in drawn:
        if laps_of(tip):
            continue
        compared += 1
        volumes = cell_volumes(tip.mesh.points, tip.mesh.cells)
        solved = volumes[tip.mesh.cell_zone < Zone.SLAB].sum() * 1e9
        assert sum(volume_of_dxf(path) for _, (path, _) in parts) == pytest.approx(solved, rel=3e-3)
    assert compared > 5


def test_sixty_millimetres_say_60(tmp_path):
    """The ready-made styles of the library print a hundred times that."""
    changes = {
        "tip.plug.length": "40 mm",
        "outline.turned_length": "100 mm",
        "tip.band.length": "25 mm",
        "tip.base.separate": False,
        "tip.base.thickness": "5 mm",
    }
    [part] = turned_parts(built(changes))
    path, _ = write_part_dxf(part, title=TITLE, folder=tmp_path)
    texts = [one.text for one in dimensions_of_dxf(path)]
    assert {"60", "100", "R3"} <= set(texts)


def test_a_cylinder_and_a_sphere_read_from_a_file_have_their_textbook_volumes(tmp_path):
    drawing = ezdxf.new("R2010")
    bulge = math.tan(math.pi / 4.0)
    drawing.modelspace().add_lwpolyline(
        [(0.0, 0.0, -bulge), (2.0, 0.0, 0.0)], format="xyb", close=True, dxfattribs={"layer": "PROFILE"}
    )
    drawing.saveas(tmp_path / "sphere.dxf")
    assert volume_of_dxf(tmp_path / "sphere.dxf") == pytest.approx(4.0 * math.pi / 3.0, rel=1e-12)


def test_designs_over_the_whole_range_of_every_key_have_the_volume_of_their_mesh(tmp_path):
    """Without fits, which the mesh hasn't, and with the usual edge: one of 5 mm leaves a per cent."""
    compared = []
    for study, design in random_designs(8, folder=tmp_path / "studies"):
        plain = {key: value for key, value in design.items() if "fixing" not in key and "turning" not in key}
        try:
            own = study.with_design({**plain, "turning.nose_radius": "0.4 mm"})
            tip = build_tip(own.tables, folder=own.folder, resolution=DEFAULT_RESOLUTION)
        except (UserMistakes, DesignFailure):
            continue
        files = [write_part_dxf(part, title=TITLE, folder=tmp_path)[0] for part in turned_parts(tip)]
        volumes = cell_volumes(tip.mesh.points, tip.mesh.cells)
        solved = volumes[tip.mesh.cell_zone < Zone.SLAB].sum() * 1e9
        compared.append(sum(volume_of_dxf(path) for path in files) / solved - 1.0)
        if len(compared) == 60:
            break
    assert np.abs(compared).max() < 3e-3
