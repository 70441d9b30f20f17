"""The pressure in the pocket along a march: that outside, shut in and warmed, or following through a vent."""

import numpy as np

from optitip.arrays import FloatArray
from optitip.evaluate.building import Tip
from optitip.evaluate.pocket import pocket_volume
from optitip.flight.trajectory import Flight
from optitip.heating.table import Heating
from optitip.inputs.tip_tables import PocketAir
from optitip.metrics.pocket_pressure import Vent, sealed_pressure, vented_pressure
from optitip.solvers.history import History

LATENT_HEAT = 2.2565e6  # [J/kg] of water at 101325 Pa: IAPWS-IF97, as the materials' files have it


def ambient_pressure(time: FloatArray, *, heating: Heating, flight: Flight | None) -> FloatArray:
    """Return the pressure of the air at rest outside (n_t,) [Pa].

    Without a flight it is the table's lowest along the surface then: air in motion presses no less on the
    sides of a slender nose, save for little round its shoulder.
    """
    if flight is None:
        return np.asarray(np.interp(time, heating.time, np.min(heating.pressure, axis=1)))
    return np.asarray(np.interp(time, flight.time, flight.pressure))


def pocket_pressure(
    tip: Tip, *, history: History, ambient: FloatArray, flight: Flight | None, slab_volume: FloatArray
) -> FloatArray:
    """Return the pocket's pressure at the march's times (n_t,) [Pa].

    Sealed, over a moist sample, the vapour is that at its hottest face: an upper bound, as the coldest wall
    holds it lower. Vented, what boils away leaves through the vent; that the pocket's pressure moves the
    boiling point is left out.

    ambient: (n_t,) [Pa]. slab_volume: of the real slab at its nodes [m3].
    """
    way, slab = tip.tables.sample.pocket.air, tip.nodes_of("slab")
    if way is PocketAir.OPEN:
        return ambient
    air = history.temperature[:, slab].mean(axis=1) if history.pocket is None else history.pocket
    if way is PocketAir.SEALED:
        wet = None if tip.sample.boiling is None else history.temperature[:, slab].max(axis=1)
        start = float(air[0])
        return sealed_pressure(
            air, shut_pressure=float(ambient[0]), shut_temperature=start, wet_temperature=wet
        )
    outside = air if flight is None else np.interp(history.time, flight.time, flight.temperature)
    hole = 0.25 * np.pi * tip.tables.sample.pocket.vent**2
    [pressure] = vented_pressure(
        history.time,
        vent=Vent(volume=pocket_volume(tip, filled=tip.share), area=hole),
        outside=ambient[None],
        temperature=air[None],
        outside_temperature=outside[None],
        vapour=_vapour(tip, history, slab_volume)[None],
    )
    return np.asarray(pressure)


def _vapour(tip: Tip, history: History, slab_volume: FloatArray) -> FloatArray:
    """Return what boils away (n_t,) [kg/s]."""
    if tip.sample.boiling is None:
        return np.zeros(len(history.time))
    gone = history.evaporated.take(tip.nodes_of("slab"), axis=1) @ slab_volume / LATENT_HEAT
    return np.asarray(np.maximum(np.gradient(gone, history.time), 0.0))
