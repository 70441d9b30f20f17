"""What a person should know of how far an answer can be trusted: where figures or cells leave their range."""

from collections.abc import Mapping

import numpy as np

from optitip.evaluate.assessment import StateResult
from optitip.evaluate.building import Tip
from optitip.evaluate.parts import SHELL_PARTS
from optitip.units import Sentence

SHAKEDOWN = "margin.shakedown"
COARSEST = 0.5
"""of the depth the heat has reached, at most, may the cells at the outline be: two cells to it"""


def range_notes(tip: Tip, states: Mapping[str, StateResult]) -> list[str]:
    """Return where a part became hotter or colder than the sources of its material cover."""
    found: list[str] = []
    hottest = np.max([state.fields.temperature.max(axis=0) for state in states.values()], axis=0)
    for index, material in enumerate(tip.materials):
        own = [piece for piece in tip.parts.pieces if piece.material == index]
        peak = max((float(hottest[piece.nodes].max()) for piece in own), default=-np.inf)
        if peak > material.valid[1]:
            words = (
                f"the {own[0].part} ({material.name}) reaches {{0}}; its figures end at {{1}} and are held "
            )
            found.append(Sentence(words + "constant above", (peak, "K"), (material.valid[1], "K")))
    return found


def plasticity_notes(tip: Tip, states: Mapping[str, StateResult]) -> list[str]:
    """Return where a wall of a tip that flies once yields to and fro: it keeps a set, and isn't refused."""
    if tip.tables.strength.flights > 1:
        return []
    pairs = [(state.name, one) for state in states.values() for one in state.margins if one.name == SHAKEDOWN]
    state, worst = min(pairs, key=lambda pair: pair[1].value)
    if worst.value >= 0.0:
        return []
    words = (
        f"the {worst.part} yields {worst.time} and keeps a set (flow {state}: {worst.detail}): it bears one "
    )
    return [Sentence(words + "flight, strength.flights = 2 judges it for more", *worst.figures)]


def skin_notes(tip: Tip, state: StateResult, *, lift_off: float) -> list[str]:
    """Return which part's heated skin, sqrt(a t) deep when it is hottest, is too thin for the cells there.

    Source: the depth of a heated half space, sqrt(a t), any textbook; ``COARSEST`` is a choice.
    """
    found: list[str] = []
    rows, points = tip.mesh.rows, tip.mesh.points
    cells = np.hypot(*(points[rows[:, 1]] - points[rows[:, 0]]).T)
    for piece in tip.parts.pieces:
        lines = np.isin(rows[:, 0], piece.nodes) & (cells > 0.0)
        if piece.part not in SHELL_PARTS or not lines.any():
            continue
        walls = state.fields.temperature[:, rows[lines, 0]].max(axis=1)
        heated = float(state.fields.time[int(walls.argmax())]) - lift_off
        material = tip.materials[piece.material]
        diffusivity = float(material.conductivity_at(walls.max()) / material.heat_capacity_at(walls.max()))
        skin, cell = np.sqrt(diffusivity * max(heated, 0.0)), float(np.median(cells[lines]))
        if cell > COARSEST * skin > 0.0:
            words = (
                f"the heat reaches {{0}} into the {piece.part} ({material.name}) when it is hottest and the "
            )
            words += "cells there are {1}: its peak and depths are rough, see --refine"
            found.append(Sentence(words, (float(skin), "m"), (cell, "m")))
    return found
