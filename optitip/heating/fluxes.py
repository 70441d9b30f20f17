"""Film coefficient and recovery temperature from a heat flux at stated wall temperatures."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from optitip.arrays import FloatArray, IntArray
from optitip.errors import UserMistakes

HOTTEST_RECOVERY = 5000.0
HIGHEST_FILM = 1e6
_NOTHING = 1e-6  # of the greatest flux: counts as none
_NO_DRIVE = 0.5  # [K] between recovery and wall


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Solved:
    """One film coefficient [W/(m2 K)] and recovery temperature [K] a place, (n_p,).

    ``row`` (n_p,) is a row of the table at each place, ``misfit`` [W/m2] what the straight line leaves.
    """

    row: IntArray
    film: FloatArray
    recovery: FloatArray
    misfit: float


def film_of_flux(
    heat_flux: ArrayLike, *, recovery: ArrayLike, wall: ArrayLike, place: str = "heat flux"
) -> FloatArray:
    """Return the film coefficient [W/(m2 K)] that a heat flux at a wall temperature stands for.

    h = q / (Tr - Tw), zero where nothing flows. Positive flux is into the wall.

    ``heat_flux`` [W/m2], ``recovery`` and ``wall`` [K] are (n,), ``place`` the file a mistake is told at.

    Valid where recovery and wall are 0.5 K or more apart: nearer, a flux tells no film, and from the colder
    to the hotter there is none. Both raise UserMistakes.

    Source: definition of the film coefficient.

    >>> film_of_flux([3e4, 0.0], recovery=[600.0, 300.0], wall=[300.0, 300.0])
    array([100.,   0.])
    """
    q, Tr, Tw = (np.asarray(values, dtype=np.float64) for values in (heat_flux, recovery, wall))
    drive = Tr - Tw
    flows = np.abs(q) > _NOTHING * np.abs(q).max(initial=0.0)
    _refuse(
        flows & (np.abs(drive) < _NO_DRIVE),
        place=place,
        problem="a heat flux where recovery and wall temperature are the same",
        remedy="Give the film coefficient, or the flux at two wall temperatures",
    )
    _refuse(
        flows & (q * drive < 0.0),
        place=place,
        problem="a heat flux from the colder to the hotter",
        remedy="Count it positive into the wall, and look over both temperatures",
    )
    film: FloatArray = np.where(flows, q / np.where(flows, drive, 1.0), 0.0)
    _refuse(
        film > HIGHEST_FILM,
        place=place,
        problem=f"a film coefficient above {HIGHEST_FILM:g} W/(m2 K)",
        remedy="Check the units of flux and temperatures",
    )
    return film


def film_and_recovery(
    heat_flux: ArrayLike,
    *,
    wall: ArrayLike,
    time: ArrayLike,
    arc_length: ArrayLike,
    place: str = "heat flux",
) -> Solved:
    """Return the film coefficient [W/(m2 K)] and recovery temperature [K] of fluxes at two or more walls.

    q = h (Tr - Tw): at each time and arc length the straight line of q over Tw has the slope -h and is zero
    at Tr. Two walls give it exactly, more of them by least squares. Positive flux is into the wall.

    ``heat_flux`` [W/m2], ``wall`` [K], ``time`` [s] and ``arc_length`` [m] are (n,); ``place`` is the file a
    mistake is told at.

    Valid where the flux falls as the wall gets hotter; a single wall, a flux that doesn't fall and a
    recovery temperature outside 0 to 5000 K raise UserMistakes. Where no flux flows at all, film is zero.

    Source: definition of the film coefficient.

    >>> two = film_and_recovery([3e4, 1e4], wall=[300.0, 500.0], time=[0.0, 0.0], arc_length=[0.1, 0.1])
    >>> two.film, two.recovery  # 2e4 W/m2 over 200 K
    (array([100.]), array([600.]))
    """
    t, s, Tw, q = (np.asarray(values, dtype=np.float64) for values in (time, arc_length, wall, heat_flux))
    order = np.lexsort((Tw, s, t))
    t, s, Tw, q = t[order], s[order], Tw[order], q[order]
    first = np.flatnonzero(np.concatenate([[True], (np.diff(t) != 0.0) | (np.diff(s) != 0.0)]))
    count = np.diff(first, append=t.size)
    where = np.repeat(np.arange(first.size), count)
    middle, mean = np.add.reduceat(Tw, first) / count, np.add.reduceat(q, first) / count
    x, y = Tw - middle[where], q - mean[where]
    spread = np.add.reduceat(x * x, first)
    _refuse(
        spread[where] == 0.0,
        place=place,
        problem="a heat flux at one wall temperature alone, and no recovery temperature",
        remedy="Add 'recovery temperature [K]', or rows at a second wall temperature",
        where=(t, s),
    )
    h = -np.add.reduceat(x * y, first) / spread
    flows = np.maximum.reduceat(np.abs(q), first) > _NOTHING * np.abs(q).max()
    _refuse(
        (flows & (h <= _NOTHING * np.abs(mean) / middle))[where],
        place=place,
        problem="the heat flux does not fall as the wall gets hotter",
        remedy="Look over the wall temperatures; count the flux positive into the wall",
        where=(t, s),
    )
    film = np.where(flows, h, 0.0)
    recovery = middle + np.where(flows, mean / np.where(flows, h, 1.0), 0.0)
    _refuse(
        ((recovery <= 0.0) | (recovery > HOTTEST_RECOVERY))[where],
        place=place,
        problem=f"the fluxes there would vanish at no wall between 0 and {HOTTEST_RECOVERY:g} K",
        remedy="Take wall temperatures farther apart, or give the recovery temperature",
        where=(t, s),
    )
    misfit = float(np.abs(y + h[where] * x).max())
    return Solved(row=order[first], film=film, recovery=recovery, misfit=misfit)


def _refuse(
    wrong: np.ndarray,
    *,
    place: str,
    problem: str,
    remedy: str,
    where: tuple[FloatArray, FloatArray] | None = None,
) -> None:
    """Raise for the first row that is wrong, with how many there are."""
    if not wrong.any():
        return
    k = int(np.argmax(wrong))
    at = f"in row {k + 1}" if where is None else f"at {where[0][k]:g} s and {1e3 * where[1][k]:g} mm"
    raise UserMistakes.one(place, f"{at}: {problem} ({int(wrong.sum())} such rows)", remedy)
