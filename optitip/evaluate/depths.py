"""How deep each part of the shell was too hot or decomposed, and what is said of it."""

from collections.abc import Collection, Iterator, Mapping

from optitip.arrays import FloatArray
from optitip.evaluate.building import Tip
from optitip.evaluate.parts import SHELL_PARTS
from optitip.metrics.depth import arc_along, depth_of_share, depth_over
from optitip.metrics.values import Bracketed
from optitip.solvers.history import History
from optitip.units import Sentence

OVER = "depth_over_limit"
DECOMPOSED = "depth_decomposed"


def depth_metrics(tip: Tip, history: History) -> dict[str, float]:
    """Return the greatest depths [m] below the outline, along the mesh's rows, of each part of the shell.

    ``depth_over_limit`` is that to which an insulator, one that is judged by depth, passed its service limit,
    ``depth_decomposed`` that to which a material decomposed; 0 where none did.
    """
    metrics = {f"{part}.{name}": 0.0 for part in SHELL_PARTS for name in (OVER, DECOMPOSED)}
    for piece in tip.parts.pieces:
        material = tip.materials[piece.material]
        if piece.part not in SHELL_PARTS or not (material.judged_by_depth or material.decomposition):
            continue
        arc = arc_along(tip.mesh.points[piece.rows])
        if material.judged_by_depth and material.service_limit is not None:
            deep = depth_over(arc, history.highest[piece.rows], limit=material.service_limit)
            _deepen(metrics, f"{piece.part}.{OVER}", deep)
        if material.decomposition is not None:
            share = history.evaporated[-1][piece.rows] / material.decomposition.latent_heat
            _deepen(metrics, f"{piece.part}.{DECOMPOSED}", depth_of_share(arc, share))
    return metrics


def _deepen(metrics: dict[str, float], name: str, depths: FloatArray) -> None:
    metrics[name] = max(metrics[name], float(depths.max(initial=0.0)))


def depth_warnings(
    tip: Tip, metrics: Mapping[str, Bracketed], *, limited: Collection[str] = ()
) -> Iterator[str]:
    """Yield what is to be said of parts that are judged by depth, and of those that decomposed.

    limited: metrics that the study has a limit for.
    """
    for piece in tip.parts.pieces:
        if piece.part not in SHELL_PARTS:
            continue
        over, decomposed = (metrics[f"{piece.part}.{name}"].high for name in (OVER, DECOMPOSED))
        material = tip.materials[piece.material]
        name, limit = f"the {piece.part} ({material.name})", material.service_limit
        told = not material.judged_by_depth or f"{piece.part}.{OVER}" in limited
        if limit is not None and over > 0.0 and not told:
            words = f"{name} passes its {{0}} down to {{1}} below the outline; no margin counts that: "
            yield Sentence(f"{words}limits.'{piece.part}.{OVER}' does", (limit, "K"), (over, "m"))
        if material.decomposition is not None and decomposed > 0.0:
            words = f"{name} decomposes down to {{0}} below the outline; it conducts on as before there, and "
            words += "what its surface loses, its recession, is not modelled"
            yield Sentence(words, (decomposed, "m"))
