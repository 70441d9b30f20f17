"""A part rebuilt from its lathe card's text alone, and from its DXF alone, by code that sees no design.

The card's table is read from the PDF with pypdfium2 and filled with frusta; the DXF's polyline is flattened
by ezdxf and turned about the axis by the theorem of Pappus (second theorem) on its straight pieces.
"""

import itertools
import math
import re

import ezdxf
import ezdxf.path
import numpy as np
import pypdfium2
import pytest
from turned_tips import built, random_tips

from optitip.evaluate.turnable import turnable
from optitip.export.dxf import Title, write_dxf
from optitip.export.parts.profile import Profile
from optitip.export.parts.turned import turned_parts
from optitip.export.sheets.lathe_card import lathe_card
from optitip.export.sheets.sheet_facts import facts_of
from optitip.export.sheets.sheet_files import write_sheets
from optitip.geometry.shell import part_volumes
from optitip.units import System

MM_OF = {"mm": 1.0, "inch": 25.4}
ROW = re.compile(r"(\d+\.\d+) (\d+\.\d+) (\d+\.\d+) (\d+\.\d+) (\d+\.\d+)")


def card_volume(path):
    """Return the volume [mm3] of the frusta through a card's table."""
    document = pypdfium2.PdfDocument(path)
    assert len(document) == 1
    words = " ".join(document[0].get_textpage().get_text_range().split())
    per = MM_OF[re.search(r"Step-off table, (\w+)", words)[1]]
    table = np.array([[float(x) for x in row] for row in ROW.findall(words.split("metal", 1)[1])]) * per
    assert table[:, :2].sum(axis=1) == pytest.approx(table[0, 0], abs=0.021)
    assert 0.5 * (table[:, 2] - table[:, 3]) == pytest.approx(table[:, 4], abs=0.004)
    total = 0.0
    for (z1, _, a1, b1, _), (z2, _, a2, b2, _) in itertools.pairwise(table):
        for first, second, sign in ((a1, a2, 1.0), (b1, b2, -1.0)):
            total += sign * math.pi / 12.0 * (z1 - z2) * (first**2 + first * second + second**2)
    return total


def dxf_volume(path):
    """Return the volume [mm3] that the one metal polyline of a DXF sweeps about the x axis."""
    (line,) = ezdxf.readfile(path).modelspace().query("LWPOLYLINE")
    points = np.array([(p.x, p.y) for p in ezdxf.path.make_path(line).flattening(0.001)])
    x, y = points.T
    return abs(math.pi / 3.0 * np.sum(np.diff(x) * (y[1:] ** 2 + y[1:] * y[:-1] + y[:-1] ** 2)))


def both(tip, part, *, system, folder):
    facts = facts_of(
        part, tip=tip, turned=turnable(tip), study="A study", design="k3f9", fingerprint="12ab", system=system
    )
    card = lathe_card(part, tip=tip, facts=facts, system=system)
    pdf, _ = write_sheets([card], folder=folder, name=f"{part.name}-card")
    profile = Profile(layer=part.name, material=part.material, segments=part.closed)
    title = Title(design="k3f9", study="A study", version="0")
    return card_volume(pdf), dxf_volume(write_dxf([profile], title=title, folder=folder))


@pytest.mark.parametrize("system", System)
def test_card_and_dxf_rebuild_random_parts_within_half_a_per_cent(system, tmp_path):
    for tip in itertools.islice(random_tips(21 if system is System.METRIC else 22), 3):
        for part in turned_parts(tip):
            card, drawn = both(tip, part, system=system, folder=tmp_path)
            assert card == pytest.approx(drawn, rel=5e-3)


def test_they_rebuild_the_design_itself_where_nothing_overlaps(tmp_path):
    tip = built({"tip.plug.insert": "20 mm", "tip.plug.material": "304"})
    volumes = part_volumes(tip.cavity)
    for part in turned_parts(tip):
        own = 1e9 * getattr(volumes, part.name)
        for volume in both(tip, part, system=System.METRIC, folder=tmp_path):
            assert volume == pytest.approx(own, rel=5e-3)
