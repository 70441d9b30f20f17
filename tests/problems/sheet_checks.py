"""What is wrong with a drawn sheet: texts on each other, out of the frame, under a thick line."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from optitip.arrays import FloatArray
from optitip.export.sheets.sheet import THICK, Dashes, Lettering, Sheet, Stroke

_ROOM = 0.05  # [mm] boxes may touch


@dataclass(frozen=True, slots=True, kw_only=True)
class Blemish:
    """One thing that is wrong, and the texts it befalls."""

    problem: str
    words: tuple[str, ...]


def blemishes(sheet: Sheet) -> list[Blemish]:
    """Return every pair of texts that overlap, every text out of the frame or crossed by a thick line."""
    if not sheet.texts:
        return []
    boxes = np.array([one.corners for one in sheet.texts])
    found = [
        Blemish(problem="on each other", words=(sheet.texts[i].words, sheet.texts[j].words))
        for i, j in _near(boxes)
        if _overlap(boxes[i], boxes[j])
    ]
    left, foot, right, top = sheet.frame
    ink = _thick_ink(sheet.strokes)
    for one, box in zip(sheet.texts, boxes, strict=True):
        low, high = box.min(axis=0), box.max(axis=0)
        if low[0] < left or low[1] < foot or high[0] > right or high[1] > top:
            found.append(Blemish(problem="out of the frame", words=(one.words,)))
        if _has_inside(one, box, ink):
            found.append(Blemish(problem="under a thick line", words=(one.words,)))
    return found


def _near(boxes: FloatArray) -> list[tuple[int, int]]:
    """Return the pairs of boxes whose upright rectangles meet."""
    low, high = boxes.min(axis=1), boxes.max(axis=1)
    apart = np.any(low[:, None] > high[None], axis=2)
    pairs = np.argwhere(~(apart | apart.T))
    return [(int(i), int(j)) for i, j in pairs if i < j]


def _overlap(a: FloatArray, b: FloatArray) -> bool:
    """Return whether two rectangles overlap, by the axes that part them."""
    if np.any(a.min(axis=0) > b.max(axis=0)) or np.any(b.min(axis=0) > a.max(axis=0)):
        return False
    for box in (a, b):
        for side in (box[1] - box[0], box[3] - box[0]):
            length = float(np.hypot(*side))
            if length == 0.0:
                continue
            first, second = a @ side / length, b @ side / length
            if first.max() - _ROOM <= second.min() or second.max() - _ROOM <= first.min():
                return False
    return True


def _thick_ink(strokes: Sequence[Stroke]) -> FloatArray:
    """Return points (n, 2) along all thick lines [mm], a third of a millimetre apart."""
    points = [np.empty((0, 2))]
    for stroke in strokes:
        if stroke.width < THICK or stroke.dashes is not Dashes.NONE or stroke.filled:
            continue
        for flat in stroke.path.to_polygons(closed_only=False):
            piece = np.asarray(flat, dtype=np.float64)
            length = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(piece, axis=0).T))])
            along = np.linspace(0.0, length[-1], max(2, int(length[-1] / 0.3)))
            drawn = np.column_stack([np.interp(along, length, column) for column in piece.T])
            if stroke.clip is not None:
                low, high = np.array(stroke.clip[:2]), np.array(stroke.clip[2:])
                drawn = drawn[np.all((drawn >= low) & (drawn <= high), axis=1)]
            points.append(drawn)
    return np.vstack(points)


def _has_inside(one: Lettering, box: FloatArray, points: FloatArray) -> bool:
    """Return whether any of the points (n, 2) lies inside a text's box."""
    size = np.array([one.width, one.depth + one.rise])
    axes = np.column_stack([box[1] - box[0], box[3] - box[0]]) / size
    inside = (points - box[0]) @ axes
    return bool(np.any(np.all((inside > 0.0) & (inside < size), axis=1)))
