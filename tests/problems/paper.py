"""What is drawn on a page of a PDF, in millimetres, as any reader of the file sees it."""

import numpy as np
import pypdfium2.raw as pdfium

MM = 72.0 / 25.4


def strokes_on(page, *, steps=1):
    """Return each path's points (n, 2) [mm], a cubic as so many pieces; the page's ground is left out."""
    found = []
    for item in page.get_objects(filter=[pdfium.FPDF_PAGEOBJ_PATH]):
        if np.allclose(item.get_bounds(), (0.0, 0.0, *page.get_size()), atol=1.0):
            continue
        matrix = item.get_matrix()
        kinds, points = [], []
        for number in range(pdfium.FPDFPath_CountSegments(item.raw)):
            segment = pdfium.FPDFPath_GetPathSegment(item.raw, number)
            x, y = pdfium.c_float(), pdfium.c_float()
            pdfium.FPDFPathSegment_GetPoint(segment, x, y)
            points.append(matrix.on_point(x.value, y.value))
            kinds.append(pdfium.FPDFPathSegment_GetType(segment))
        found.append(_flat(np.array(points) / MM, kinds, steps))
    return found


def _flat(points, kinds, steps):
    flat = [points[0]]
    number = 1
    share = np.linspace(0.0, 1.0, steps + 1)[1:, None]
    while number < len(points):
        if kinds[number] == pdfium.FPDF_SEGMENT_BEZIERTO:
            a, b, c, d = points[number - 1 : number + 3]
            flat += list(
                (1 - share) ** 3 * a
                + 3 * share * (1 - share) ** 2 * b
                + 3 * share**2 * (1 - share) * c
                + share**3 * d
            )
            number += 3
        else:
            flat.append(points[number])
            number += 1
    return np.array(flat)


def lines_on(page):
    """Return the ends of each path that is one straight line [mm]."""
    return [(one[0], one[-1]) for one in strokes_on(page) if len(one) == 2]


def words_on(page):
    """Return the text of a page in one line."""
    return " ".join(page.get_textpage().get_text_range().split())
