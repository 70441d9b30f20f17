"""What the parts of a tip weigh and hold: the same in all flow states."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from optitip.arrays import FloatArray, frozen
from optitip.evaluate.building import Tip
from optitip.metrics.shell import mass_metrics


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Weights:
    """The real slab's volume at its nodes [m3], its mass [kg], its contact [m2]; the shell's metrics."""

    slab_volume: FloatArray
    slab_mass: float
    contact_area: float
    shell: Mapping[str, float]


def weights_of(tip: Tip) -> Weights:
    """Return the weights of a tip; the slab fills its share of the circumference."""
    volume = _slab_volume(tip)
    contact = next(pairs for pairs in tip.mesh.joints if pairs.name == "sample")
    return Weights(
        slab_volume=volume,
        slab_mass=tip.sample.density * float(volume.sum()),
        contact_area=tip.share * float(contact.area.sum()),
        shell=_shell_metrics(tip),
    )


def _slab_volume(tip: Tip) -> FloatArray:
    slab, cells = tip.nodes_of("slab"), tip.cells_of("slab")
    corners = tip.mesh.cells[cells].T.ravel()
    weights = tip.corner_volume.take(cells, axis=1).ravel()
    whole = np.bincount(corners, weights=weights, minlength=len(tip.mesh.points))
    return frozen(whole[slab] * tip.share)


def _shell_metrics(tip: Tip) -> Mapping[str, float]:
    cells = tip.parts.shell
    corners, volume = tip.corner_volume.take(cells, axis=1), tip.cell_volume.take(cells)
    axial = tip.mesh.points[:, 1].take(tip.mesh.cells[cells].T)
    density = np.array([one.density for one in tip.materials])[tip.cell_material[cells]]
    return mass_metrics(density=density, volume=volume, axial=(corners * axial).sum(axis=0) / volume)
