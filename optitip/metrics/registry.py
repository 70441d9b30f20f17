"""The names of all metrics, their SI units, what each one is, and its label in a table for people."""

from types import MappingProxyType

_METRICS = {
    "sample.energy_peak": ("J", "sensible heat in the sample at its fullest, over what it held at lift-off"),
    "sample.energy_landing": (
        "J",
        "sensible heat still in the sample at landing, over what it held at lift-off",
    ),
    "sample.energy_peak_per_area": ("J/m2", "the peak energy over the contact area"),
    "sample.energy_peak_per_mass": ("J/kg", "the peak energy over the sample's mass"),
    "sample.energy_landing_per_area": ("J/m2", "the energy at landing over the contact area"),
    "sample.energy_landing_per_mass": ("J/kg", "the energy at landing over the sample's mass"),
    "sample.energy_latent": ("J", "heat that went into vapour, apart from the sensible heat"),
    "sample.temperature_coldest_lift_off": ("K", "its coldest point as energies begin to count: at lift-off"),
    "sample.temperature_mean_lift_off": ("K", "its mean at lift-off, or as a heating table begins"),
    "sample.temperature_coldest_peak": ("K", "highest temperature the coldest point reaches"),
    "sample.temperature_mean_peak": ("K", "highest mean temperature"),
    "sample.temperature_hottest_peak": ("K", "highest temperature of the hottest point"),
    "sample.time_above": (
        "s",
        "time the coldest point spends above sample.warm_above, a wait on the pad included",
    ),
    "sample.set_fraction": ("1", "share of the slab that has been above its setting temperature"),
    "sample.log_reduction": ("1", "log reduction at the coldest point, indicative only"),
    "shell.mass": ("kg", "all turned parts: plug, band, base"),
    "shell.centre_of_mass": ("m", "its distance from the nose point"),
    "plug.temperature_peak": ("K", "hottest point of the plug"),
    "band.temperature_peak": ("K", "hottest point of the band"),
    "base.temperature_peak": ("K", "hottest point of the base"),
    "margin.yield": ("1", "yield at temperature over the stress of the loads, less one"),
    "margin.shakedown": ("1", "twice yield over the range of the whole stress, less one"),
    "margin.buckling": ("1", "buckling load of the band over its load, less one"),
    "margin.temperature": ("1", "room to the service limit of the parts, over limit less start"),
    "margin.joint": ("1", "room to the limit of the joints, over limit less start"),
    "margin.smallest": ("1", "the smallest of all margins"),
    "balance.residual": ("1", "heat balance with an independently integrated flux, over integral |q|"),
}
UNITS = MappingProxyType({name: unit for name, (unit, _) in _METRICS.items()})
MEANINGS = MappingProxyType({name: meaning for name, (_, meaning) in _METRICS.items()})
LABELS = MappingProxyType(
    {
        "sample.energy_peak": "sample energy, peak",
        "sample.energy_peak_per_area": "  peak, on its contact area",
        "sample.energy_peak_per_mass": "  peak, on its mass",
        "sample.energy_landing": "sample energy, landing",
        "sample.energy_landing_per_area": "  landing, on its contact area",
        "sample.energy_landing_per_mass": "  landing, on its mass",
        "sample.energy_latent": "  gone into vapour, apart",
        "sample.temperature_coldest_lift_off": "sample, coldest at lift-off",
        "sample.temperature_mean_lift_off": "sample, mean at lift-off",
        "sample.temperature_coldest_peak": "sample, coldest point's peak",
        "sample.temperature_mean_peak": "sample, mean's peak",
        "sample.temperature_hottest_peak": "sample, hottest point's peak",
        "sample.time_above": "time above sample.warm_above",
        "sample.set_fraction": "share of the slab that set",
        "sample.log_reduction": "log reduction (indicative)",
        "shell.mass": "shell mass",
        "shell.centre_of_mass": "  its centre, from the nose",
        "plug.temperature_peak": "plug, hottest point",
        "band.temperature_peak": "band, hottest point",
        "base.temperature_peak": "base, hottest point",
        "margin.yield": "yield margin",
        "margin.shakedown": "shakedown margin",
        "margin.buckling": "buckling margin",
        "margin.temperature": "temperature margin",
        "margin.joint": "joint margin",
        "margin.smallest": "smallest margin",
        "balance.residual": "heat balance, residual",
    }
)
