"""What the sample went through: energy, temperatures, time above a limit, lethality (indicative)."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from optitip.arrays import FloatArray
from optitip.properties.materials import Family, Material
from optitip.solvers.dense import between_steps, peak

# Fit of the times of USDA FSIS Appendix A (1999) for 6.5-log: z [K], D at 60 C [s]; recomputed.
LETHALITY_Z, LETHALITY_D60, LETHALITY_REFERENCE = 5.55, 1.776 * 60.0, 333.15
MOST_REDUCTION = 12.0
SETTING_TEMPERATURE = 353.15  # egg white's ovalbumin sets at 78 to 84 C: from memory
_PER_STEP = 8  # pieces of a step's cubic that times above a limit are read off


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SampleTrace:
    """Histories of the sample: temperatures [K], sensible and latent heat [J] since lift-off, each (n_t,).

    Between its times each course is the cubic through its values and slopes (per second).
    """

    time: FloatArray
    coldest: FloatArray
    mean: FloatArray
    hottest: FloatArray
    energy: FloatArray
    coldest_slope: FloatArray
    mean_slope: FloatArray
    hottest_slope: FloatArray
    energy_slope: FloatArray
    latent: FloatArray
    lift_off: int
    """row from which the heats count: 0 without a wait before it"""


def trace_sample(
    time: FloatArray,
    temperature: FloatArray,
    *,
    slope: FloatArray,
    volume: FloatArray,
    material: Material,
    evaporated: FloatArray,
    lift_off: float,
) -> SampleTrace:
    """Return the sample's histories; both heats count from lift-off: the flight's own.

    Sensible energy is the sum of volume (e(T) - e(T at lift-off)), apart from the latent heat of the vapour.

    time: (n_t,) [s]; temperature: (n_t, n_slab) [K] and slope its rate [K/s]; volume: (n_slab,) of the real
    slab [m3]; evaporated: (n_t, n_slab) latent heat taken up [J/m3]; lift_off: [s], a time of the row or
    before its first. Positive energy: warmer than at lift-off.
    """
    stored = material.enthalpy_at(temperature)
    share = volume / volume.sum()
    row = int(np.searchsorted(time, lift_off))
    rows = np.arange(time.size)
    coldest, hottest = temperature.argmin(axis=1), temperature.argmax(axis=1)
    return SampleTrace(
        time=time,
        coldest=temperature[rows, coldest],
        mean=temperature @ share,
        hottest=temperature[rows, hottest],
        energy=(stored - stored[row]) @ volume,
        coldest_slope=slope[rows, coldest],
        mean_slope=slope @ share,
        hottest_slope=slope[rows, hottest],
        energy_slope=(material.heat_capacity_at(temperature) * slope) @ volume,
        latent=(evaporated - evaporated[row]) @ volume,
        lift_off=row,
    )


def time_above(time: FloatArray, values: FloatArray, limit: float) -> float:
    """Return how long the values, straight between their times, stay above the limit [s].

    >>> time_above(np.array([0.0, 2.0, 4.0]), np.array([0.0, 2.0, 0.0]), 1.0)
    2.0
    """
    over = values - limit
    rise = np.where(over[1:] == over[:-1], 1.0, over[1:] - over[:-1])
    crossing = np.minimum(np.maximum(-over[:-1] / rise, 0.0), 1.0)
    first, last = over[:-1] > 0.0, over[1:] > 0.0
    share = np.where(first & last, 1.0, np.where(first, crossing, np.where(last, 1.0 - crossing, 0.0)))
    return float(share @ np.diff(time))


def log_reduction(time: FloatArray, coldest: FloatArray) -> float:
    """Return the dimensionless log reduction at the coldest point; indicative, never a word on safety.

    Integral of 10^((T - T_ref)/z) dt / D_ref, exact for temperatures straight between their times.

    time: (n_t,) [s]; coldest: (n_t,) [K].
    Valid 54 to 70 C, the range of the table behind the fit; outside it extrapolates, and nothing above
    ``MOST_REDUCTION`` is given.
    Source: fit to USDA FSIS Appendix A (1999), z 5.55 K and D(60 C) 1.776 min.

    >>> held = log_reduction(np.array([0.0, 720.0]), np.array([333.15, 333.15]))
    >>> round(held, 2)  # the table gives 12 min at 60 C for 6.5
    6.76
    """
    power = np.log(10.0) * (coldest - LETHALITY_REFERENCE) / LETHALITY_Z
    rate, rise = np.exp(power), np.diff(power)
    flat = np.abs(rise) < 1e-6
    mean = np.where(flat, 0.5 * (rate[1:] + rate[:-1]), np.diff(rate) / np.where(flat, 1.0, rise))
    return min(float(mean @ np.diff(time)) / LETHALITY_D60, MOST_REDUCTION)


def set_fraction(temperature: FloatArray, volume: FloatArray) -> float:
    """Return the share of the slab's volume that has been at its setting temperature or above.

    f = sum of V where the peak of T >= 80 degC over the sum of V; dimensionless, 0 to 1.

    temperature: (n_t, n_slab) [K]; volume: (n_slab,) [m3].
    Valid for egg white heated in minutes, whose ovalbumin sets at 78 to 84 degC; for another food, and for
    the time that setting takes, it is a mark on a scale and no more.
    Source: the setting range of ovalbumin, from memory.

    >>> peaks = np.array([[300.0, 300.0], [354.0, 340.0]])
    >>> set_fraction(peaks, np.array([1e-6, 3e-6]))  # 1/(1 + 3)
    0.25
    """
    return float(volume[temperature.max(axis=0) >= SETTING_TEMPERATURE].sum() / volume.sum())


def sample_metrics(
    trace: SampleTrace,
    *,
    landing: float,
    contact_area: float,
    mass: float,
    warm_above: float,
    material: Material,
    setting: float,
) -> Mapping[str, float]:
    """Return the metrics of the sample; those of food are left out for other materials.

    Energies are the flight's own, from lift-off; temperatures, time above and setting hold for the wait too.

    landing: [s]; contact_area: [m2]; mass: [kg]; warm_above: [K]; setting: set fraction [1].
    """
    row = trace.lift_off
    highest = float(peak(trace.time[row:], values=trace.energy[row:], slopes=trace.energy_slope[row:]))
    fine = _finer(trace.time)
    coldest = between_steps(fine, time=trace.time, values=trace.coldest, slopes=trace.coldest_slope)
    landed = float(np.interp(landing, trace.time, trace.energy))
    temperatures, slopes = (
        np.stack(courses, axis=1)
        for courses in (
            (trace.coldest, trace.mean, trace.hottest),
            (trace.coldest_slope, trace.mean_slope, trace.hottest_slope),
        )
    )
    coldest_peak, mean_peak, hottest_peak = peak(trace.time, values=temperatures, slopes=slopes).tolist()
    metrics = {
        "sample.energy_peak": highest,
        "sample.energy_landing": landed,
        "sample.energy_peak_per_area": highest / contact_area,
        "sample.energy_peak_per_mass": highest / mass,
        "sample.energy_landing_per_area": landed / contact_area,
        "sample.energy_landing_per_mass": landed / mass,
        "sample.energy_latent": float(trace.latent.max()),
        "sample.temperature_coldest_lift_off": float(trace.coldest[row]),
        "sample.temperature_mean_lift_off": float(trace.mean[row]),
        "sample.temperature_coldest_peak": coldest_peak,
        "sample.temperature_mean_peak": mean_peak,
        "sample.temperature_hottest_peak": hottest_peak,
        "sample.time_above": time_above(fine, coldest, warm_above),
    }
    if material.family is Family.FOOD:
        metrics["sample.set_fraction"] = setting
        metrics["sample.log_reduction"] = log_reduction(fine, coldest)
    return metrics


def _finer(time: FloatArray) -> FloatArray:
    """Return the times with each step cut in ``_PER_STEP``."""
    pieces = time[:-1, None] + np.diff(time)[:, None] * (np.arange(_PER_STEP) / _PER_STEP)
    return np.append(pieces.ravel(), time[-1])
