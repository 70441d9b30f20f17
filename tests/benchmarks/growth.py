"""How the marches grow: with the unknowns on finer meshes of one tip, and with the compiled one's batch."""

from fresh import cases
from marched import SIZES, marched_tip, strips
from measuring import say, side_by_side
from ours import TOLERANCE, Plain
from ratios import rivals

from optitip.geometry.topology import Resolution
from optitip.solvers.batch import march_batch

PATIENCE = 40.0  # [s] of CPU for one march: a rival that took longer isn't asked for a finer mesh
# [K], those that are as exact as ours on one mesh, held on all
TOLERANCES = {"scipy BDF": 3e-3, "scipy LSODA": 1.6e-3, "scikit-fem": 1.6e-3}
BATCHES = (1, 2, 4, 8, 16, 32, 64)


def meshes(*, largest: float) -> list[Resolution]:
    """Return resolutions of 531 to 60,923 unknowns, those above ``largest`` left out."""
    usual = SIZES["usual"]
    finer = {2651: 2, 5763: 3, 15563: 5, 30131: 7, 60923: 10}
    unknowns = {531: strips(0.75), 731: usual}
    unknowns |= {count: usual.refined(factor) for count, factor in finer.items()}
    return [one for count, one in unknowns.items() if count <= largest]


def with_unknowns(*, largest: float) -> list[tuple[int, int, dict[str, float]]]:
    """Return for each mesh its unknowns, half-bandwidth and the CPU time of each march [s]."""
    classes = {Plain.name: Plain, **rivals(TOLERANCES)}
    rows = []
    for resolution in meshes(largest=largest):
        marched = marched_tip(resolution)
        say(f"growth: {marched.unknowns} unknowns")
        times = {}
        for name, one in list(classes.items()):
            rival = one(marched)
            at = TOLERANCES.get(name, TOLERANCE)
            best = side_by_side({name: lambda r=rival, at=at: r.run(at)}, repeats=3, patience=2.0)[name]
            times[name] = best
            if best > PATIENCE:
                del classes[name]
        width = Plain(marched).model.stiffness.shape[0] - 1
        rows.append((marched.unknowns, width, times))
    return rows


def with_batch(*, largest: int = BATCHES[-1], repeats: int = 3) -> dict[int, float]:
    """Return the CPU time of the compiled march for one flight [s], by the number of designs in a batch."""
    designs = cases(largest, seed=11, resolution=SIZES["usual"])
    march_batch(designs[:1])  # the first call compiles, or reads what was compiled
    sizes = [one for one in BATCHES if one <= largest]
    # each size marches all the designs, so that none is measured on easy ones
    runs = {one: lambda one=one: _in_batches(designs, one) for one in sizes}
    return {size: spent / len(designs) for size, spent in side_by_side(runs, repeats=repeats).items()}


def _in_batches(designs, size: int) -> None:
    for start in range(0, len(designs), size):
        march_batch(designs[start : start + size])
