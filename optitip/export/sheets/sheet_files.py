"""Sheets written: one PDF of all of them, an SVG each; the same bytes each time."""

import io
from collections.abc import Iterator, Sequence
from contextlib import AbstractContextManager
from pathlib import Path

from matplotlib import rc_context
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.backends.backend_pdf import PdfPages
from matplotlib.figure import Figure
from matplotlib.font_manager import findfont, get_font
from matplotlib.patches import PathPatch, Rectangle
from matplotlib.text import Text

from optitip.export.files import one_line, write_bytes
from optitip.export.sheets.sheet import FONT, POINTS_PER_MM, Dashes, Lettering, Sheet, Stroke, font_size

_PER_INCH = 25.4


def write_sheets(sheets: Sequence[Sheet], *, folder: Path, name: str, title: str = "") -> list[Path]:
    """Write ``name``.pdf, a page a sheet, and ``name``.svg or ``name``-1.svg and so on; return the files.

    Texts stay texts in both. A page has the paper's size, so that it prints at scale unless it is stretched.
    """
    if not sheets:
        raise ValueError("there is no sheet to write")
    files = [write_bytes(folder, f"{name}.pdf", pdf_bytes(sheets, title=title))]
    for number, sheet in enumerate(sheets, start=1):
        own = name if len(sheets) == 1 else f"{name}-{number}"
        files.append(write_bytes(folder, f"{own}.svg", svg_bytes(sheet, title=title)))
    return files


def pdf_bytes(sheets: Sequence[Sheet], *, title: str = "") -> bytes:
    """Return one PDF of all sheets."""
    stream = io.BytesIO()
    metadata = {"Title": title, "Creator": "optitip", "Producer": None, "CreationDate": None}
    with _settings(), PdfPages(stream, metadata=metadata) as pages:
        for sheet in sheets:
            pages.savefig(_drawn(sheet))
    return stream.getvalue()


def svg_bytes(sheet: Sheet, *, title: str = "") -> bytes:
    """Return a sheet as SVG."""
    stream = io.BytesIO()
    with _settings():
        _drawn(sheet).savefig(
            stream, format="svg", metadata={"Title": title, "Creator": "optitip", "Date": None}
        )
    return stream.getvalue()


def boxes_note(words: str) -> Iterator[str]:
    """Yield what to know of the letters that the sheets' font lacks, if ``words`` have such."""
    font = get_font(findfont(FONT))
    lacking = sorted({letter for letter in one_line(words) if not font.get_char_index(ord(letter))})
    if lacking:
        yield f"The drawings' font lacks {' '.join(lacking)}: boxes stand there in their place"


def _settings() -> AbstractContextManager[None]:
    return rc_context(
        {
            "svg.fonttype": "none",
            "svg.hashsalt": "optitip",
            "pdf.fonttype": 42,
            "path.simplify": False,
            "path.snap": False,
        }
    )


def _drawn(sheet: Sheet) -> Figure:
    figure = Figure(figsize=(sheet.width / _PER_INCH, sheet.height / _PER_INCH), facecolor="white")
    FigureCanvasAgg(figure)
    axes = figure.add_axes((0.0, 0.0, 1.0, 1.0))
    axes.set_axis_off()
    axes.set_xlim(0.0, sheet.width)
    axes.set_ylim(0.0, sheet.height)
    for stroke in sheet.strokes:
        patch = axes.add_patch(_patch(stroke))
        if stroke.clip is not None:
            left, foot, right, top = stroke.clip
            patch.set_clip_path(Rectangle((left, foot), right - left, top - foot, transform=axes.transData))
    for one in sheet.texts:
        axes.add_artist(_letters(one))
    return figure


def _patch(stroke: Stroke) -> PathPatch:
    dashes: str | tuple[float, tuple[float, ...]] = "solid"
    if stroke.dashes is not Dashes.NONE:
        # in units of the line's width
        dashes = (0.0, tuple(length / stroke.width for length in stroke.dashes.value))
    return PathPatch(
        stroke.path, linewidth=stroke.width * POINTS_PER_MM, edgecolor="black", linestyle=dashes,
        facecolor="black" if stroke.filled else "none", capstyle="butt", joinstyle="round",
        clip_on=stroke.clip is not None,
    )  # fmt: skip


def _letters(one: Lettering) -> Text:
    return Text(
        one.x, one.y, one.words, fontsize=font_size(one.height), family=FONT, rotation=one.turn,
        fontweight="bold" if one.bold else "normal", ha="left", va="baseline", rotation_mode="anchor",
        color="black", parse_math=False, clip_on=False,
    )  # fmt: skip
