"""What ``optitip export`` writes for the shop, and what it refuses to."""

import csv
import hashlib
import re
import sys

import ezdxf
import pypdfium2
import pytest

from optitip.export.package import ANSWER
from optitip.inputs.study import read_study

REFUSED = "CAN'T BE TURNED AS DRAWN"
THIN = ('thickness = "1.2 mm"', 'thickness = "0.4 mm"')


def words_of(pdf):
    document = pypdfium2.PdfDocument(pdf)
    return " ".join(" ".join(page.get_textpage().get_text_range().split()) for page in document)


@pytest.fixture(scope="module")
def package(optitip, tmp_path_factory):
    """Return the folder of the shipped coastal design's package, and what the command said."""
    folder = tmp_path_factory.mktemp("shop") / "egg"
    done = optitip("export", "studies/coastal-egg", "--out", folder)
    assert done.returncode == 0, done.stderr
    assert not done.stderr.strip()
    return folder, " ".join(done.stdout.split())


def test_the_package_has_all_a_shop_needs(package):
    folder, said = package
    written = {path.name for path in folder.iterdir()}
    parts = {
        f"{part}{ending}" for part in ("shell", "base") for ending in (".dxf", "-r12.dxf", "-coordinates.csv")
    }
    sheets = {
        "drawing.pdf",
        "drawing-1.svg",
        "template.pdf",
        "template.svg",
        "lathe-card.pdf",
        "lathe-card-1.svg",
    }
    assert parts | sheets | {"section.dxf", "parts.step", "study.toml", "as-made.toml"} <= written
    assert {"fields.pvd", "stress.pvd", "stations.csv", "assessment.json"} <= {
        path.name for path in (folder / ANSWER).iterdir()
    }
    for name in (
        "drawing.pdf",
        "template.pdf",
        "lathe-card.pdf",
        "shell-r12.dxf",
        "parts.step",
        "as-made.toml",
    ):
        assert name in said
    assert "Caution: check the drawing" in said


def test_all_drawings_of_the_package_read_back_without_a_fault(package):
    folder, _said = package
    for path in folder.glob("*.dxf"):
        drawing = ezdxf.readfile(path)
        assert not drawing.audit().errors, path.name
        kinds = {entity.dxftype() for entity in drawing.modelspace()}
        if path.name.endswith("-r12.dxf"):
            assert (drawing.acad_release, kinds) == ("R12", {"LINE", "ARC"})
        else:
            assert drawing.acad_release == "R2010"


def test_the_section_of_the_model_says_that_no_part_is_turned_from_it(package):
    folder, _said = package
    notes = [one.plain_mtext() if one.dxftype() == "MTEXT" else one.dxf.text for one in
             ezdxf.readfile(folder / "section.dxf").modelspace().query("TEXT MTEXT")]  # fmt: skip
    assert "Turn parts from their own files" in " ".join(notes)
    model, finished = (
        float(re.search(pattern, _said)[1])
        for pattern in (r"([\d.]+) g in the model", r"together ([\d.]+) g")
    )
    [apart] = re.findall(r"are ([\d.]+) g lighter than the model", (folder / "as-made.toml").read_text())
    assert float(apart) == pytest.approx(model - finished, abs=0.11)


def test_each_sheet_names_the_study_and_the_design_it_is_of(package, studies):
    folder, _said = package
    revision = f"{read_study(studies / 'coastal-egg').fingerprint()} / as-written"
    for name in ("drawing", "template", "lathe-card"):
        document = pypdfium2.PdfDocument(folder / f"{name}.pdf")
        for page in document:
            text = " ".join(page.get_textpage().get_text_range().split())
            assert revision in text
    assert revision in (folder / "shell.dxf").read_text(encoding="utf-8")


def test_the_drawing_carries_the_spread_of_its_tolerances(package, optitip):
    folder, said = package
    told = " ".join(optitip("check", "studies/coastal-egg", "--tolerances").stdout.split())
    spread = re.search(r"As drawn .* \(worst case\), smallest margin [\d. to-]+\d", said)[0]
    assert spread in told
    assert spread in words_of(folder / "drawing.pdf")


def test_a_package_written_by_another_process_is_the_same_to_the_byte(package, process, tmp_path):
    folder, _said = package
    assert process("export", "studies/coastal-egg", "--out", tmp_path / "again").returncode == 0

    def hashes(root):
        told = {".json", ".sha256"}
        files = sorted(path for path in root.rglob("*") if path.is_file() and path.suffix not in told)
        return {path.relative_to(root): hashlib.sha256(path.read_bytes()).hexdigest() for path in files}

    first, second = hashes(folder), hashes(tmp_path / "again")
    assert first.keys() == second.keys()
    assert [str(name) for name in first if first[name] != second[name]] == []


def test_a_flight_called_like_a_drawing_is_copied_under_a_name_of_its_own(optitip, copied, tmp_path):
    study = copied("heated-rig", ('"rig.csv"', '"shell.dxf"'))
    table = (study / "rig.csv").rename(study / "shell.dxf").read_bytes()
    done = optitip("export", study, "--out", tmp_path / "out")
    assert done.returncode == 0, done.stderr
    assert (tmp_path / "out" / "shell-2.dxf").read_bytes() == table
    assert "shell-2.dxf" in (tmp_path / "out" / "study.toml").read_text()
    assert not ezdxf.readfile(tmp_path / "out" / "shell.dxf").audit().errors


def test_readings_on_the_sheet_of_a_package_are_never_written_over(optitip, mistaken, tmp_path):
    assert optitip("export", "studies/heated-rig", "--out", tmp_path / "out").returncode == 0
    sheet = tmp_path / "out" / "as-made.toml"
    read = sheet.read_text().replace('"tip.plug.length" = ""', '"tip.plug.length" = "48.02 mm"')
    sheet.write_text(read)
    said = mistaken("export", "studies/heated-rig", "--out", tmp_path / "out", "--units", "us")
    assert "as-made.toml: it was changed since it was written here. Move it away" in said
    assert sheet.read_text() == read
    kept = sheet.rename(tmp_path / "readings.toml")
    assert optitip("export", "studies/heated-rig", "--out", tmp_path / "out").returncode == 0
    assert optitip("check", tmp_path / "out", "--as-made", kept).returncode == 0


def test_the_filled_in_sheet_of_the_drawn_part_gives_the_drawn_answer(package, optitip):
    folder, _said = package
    drawn = optitip("check", folder, "--json")
    made = optitip("check", folder, "--as-made", folder / "as-made.toml")
    assert (drawn.returncode, made.returncode) == (0, 0), made.stderr


def test_what_cannot_be_turned_is_refused_and_nothing_is_written(mistaken, copied, tmp_path):
    said = mistaken("export", copied("coastal-egg", THIN), "--out", tmp_path / "out")
    assert "study.toml, tip.band.thickness: " in said
    assert "--even-so" in said
    assert not (tmp_path / "out").exists()


def test_even_so_it_is_drawn_and_every_sheet_says_what_speaks_against_making_it(optitip, copied, tmp_path):
    study = copied("coastal-egg", THIN, ('strength = "45 kPa"', 'strength = "4 kPa"'))
    done = optitip("export", study, "--out", tmp_path / "out", "--even-so", "--sheet", "Letter")
    assert done.returncode == 0, done.stderr
    said = " ".join(done.stdout.split())
    against = ["LIMIT margin.smallest >= 0: NOT held", "A MARGIN IS BELOW 0: shoulder of the slab, -0."]
    for words in (f"{REFUSED}: tip.band.thickness: ", *against):
        assert words in said
    document = pypdfium2.PdfDocument(tmp_path / "out" / "drawing.pdf")
    assert document[0].get_size() == pytest.approx((612.0, 792.0), abs=0.1)  # 8.5 by 11 inches
    for name in ("drawing", "lathe-card"):
        for words in (REFUSED, *against):
            assert words in words_of(tmp_path / "out" / f"{name}.pdf"), (name, words)
    assert REFUSED in words_of(tmp_path / "out" / "template.pdf")  # which has room for the first


def test_without_the_package_for_step_all_else_is_written(optitip, tmp_path, monkeypatch):
    monkeypatch.setitem(sys.modules, "optitip.export.step_solids", None)
    done = optitip("export", "studies/heated-rig", "--out", tmp_path / "out", "--units", "us")
    assert done.returncode == 0, done.stderr
    assert "pip install 'optitip[cad]'" in " ".join(done.stdout.split())
    assert not (tmp_path / "out" / "parts.step").exists()
    assert (tmp_path / "out" / "lathe-card.pdf").exists()
    assert "[1.969 inch]" in words_of(tmp_path / "out" / "drawing.pdf")
    assert not re.search(r"\d (mm|g|J|degC)\b", done.stdout)
    assert "a nose radius rho of 0.0157 inch leaves" in words_of(tmp_path / "out" / "lathe-card.pdf")


def test_every_member_of_a_front_that_seeks_what_can_be_turned_can_be(swept):
    with (swept / "front.csv").open(newline="") as file:
        figures = [float(row["turning.smallest low"]) for row in csv.DictReader(file)]
    assert figures
    assert min(figures) >= 0.0
