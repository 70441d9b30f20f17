"""What is wrong with a drawn sheet: texts on each other, out of the frame, under a thick line."""

import itertools
from dataclasses import dataclass

import numpy as np

from optitip.arrays import FloatArray
from optitip.export.sheet import THICK, Dashes, Lettering, Sheet, Stroke

_ROOM = 0.05  # [mm] boxes may touch


@dataclass(frozen=True, slots=True, kw_only=True)
class Blemish:
    """One thing that is wrong, and the texts it befalls."""

    problem: str
    words: tuple[str, ...]


def blemishes(sheet: Sheet) -> list[Blemish]:
    """Return every pair of texts that overlap, every text out of the frame or crossed by a thick line."""
    boxes = [one.corners for one in sheet.texts]
    found = [
        Blemish(problem="on each other", words=(first.words, second.words))
        for (first, a), (second, b) in itertools.combinations(zip(sheet.texts, boxes, strict=True), 2)
        if _overlap(a, b)
    ]
    left, foot, right, top = sheet.frame
    for one, box in zip(sheet.texts, boxes, strict=True):
        low, high = box.min(axis=0), box.max(axis=0)
        if low[0] < left or low[1] < foot or high[0] > right or high[1] > top:
            found.append(Blemish(problem="out of the frame", words=(one.words,)))
        if any(_crosses(stroke, one, box) for stroke in sheet.strokes):
            found.append(Blemish(problem="under a thick line", words=(one.words,)))
    return found


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


def _crosses(stroke: Stroke, one: Lettering, box: FloatArray) -> bool:
    if stroke.width < THICK or stroke.dashes is not Dashes.NONE or stroke.filled:
        return False
    extent = stroke.path.get_extents()
    if extent.x0 > box[:, 0].max() or extent.x1 < box[:, 0].min():
        return False
    along, across = box[1] - box[0], box[3] - box[0]
    size = np.array([one.width, one.depth + one.rise])
    for flat in stroke.path.to_polygons(closed_only=False):
        piece = np.asarray(flat, dtype=np.float64)
        steps = np.diff(piece, axis=0)
        count = np.maximum(2, np.ceil(np.hypot(steps[:, 0], steps[:, 1]) / 0.3).astype(int))
        points = np.vstack(
            [start + np.linspace(0.0, 1.0, n)[:, None] * step
             for start, step, n in zip(piece, steps, count, strict=False)]
        )  # fmt: skip
        inside = (points - box[0]) @ np.column_stack([along / size[0], across / size[1]])
        if np.any(np.all((inside > 0.0) & (inside < size), axis=1)):
            return True
    return False
