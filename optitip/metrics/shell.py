"""What the shell weighs and how hot its parts became."""

from collections.abc import Mapping

from optitip.arrays import FloatArray


def mass_metrics(*, density: FloatArray, volume: FloatArray, axial: FloatArray) -> dict[str, float]:
    """Return mass [kg] and centre of mass [m from the nose point] of the shell's cells.

    density: (m,) [kg/m3]; volume: (m,) [m3] full circle; axial: (m,) z of each cell's own centre [m].

    >>> import numpy as np
    >>> mass_metrics(density=np.array([1.0, 3.0]), volume=np.ones(2), axial=np.array([0.0, 1.0]))
    {'shell.mass': 4.0, 'shell.centre_of_mass': 0.75}
    """
    mass = density * volume
    total = float(mass.sum())
    return {"shell.mass": total, "shell.centre_of_mass": float(mass @ axial) / total}


def part_metrics(peaks: Mapping[str, float]) -> dict[str, float]:
    """Return the peak temperature [K] of each part under its metric's name.

    >>> part_metrics({"band": 400.0})
    {'band.temperature_peak': 400.0}
    """
    return {f"{part}.temperature_peak": peak for part, peak in peaks.items()}
