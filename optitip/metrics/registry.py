"""The names of all metrics, their SI units, what each one is, and its label in a table for people."""

from types import MappingProxyType

_METRICS = {
    "sample.energy_peak": (
        "J",
        "sensible heat in the sample at its fullest, melting in it, over what it held at lift-off",
    ),
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
    "sample.pressing_force": ("N", "force all round that presses the sample as its joint is assumed to be"),
    "sample.log_reduction": ("1", "log reduction at the coldest point, indicative only"),
    "shell.mass": ("kg", "all turned parts: plug, band, base"),
    "shell.centre_of_mass": ("m", "its distance from the nose point"),
    "plug.temperature_peak": ("K", "hottest point of the plug"),
    "band.temperature_peak": ("K", "hottest point of the band"),
    "base.temperature_peak": ("K", "hottest point of the base"),
    "plug.depth_over_limit": ("m", "greatest depth below the outline at which the plug passed its limit"),
    "band.depth_over_limit": ("m", "greatest depth below the outline at which the band passed its limit"),
    "base.depth_over_limit": ("m", "greatest depth below the outline at which the base passed its limit"),
    "plug.depth_decomposed": ("m", "greatest depth below the outline to which the plug decomposed"),
    "band.depth_decomposed": ("m", "greatest depth below the outline to which the band decomposed"),
    "base.depth_decomposed": ("m", "greatest depth below the outline to which the base decomposed"),
    "margin.yield": ("1", "yield at temperature over the stress of the loads, less one"),
    "margin.strain": ("1", "strain that the metal stands to and fro over its range, less one"),
    "margin.shakedown": ("1", "twice yield over the range of the whole stress, less one"),
    "margin.buckling": ("1", "buckling load of the band over its load, less one"),
    "margin.retention": ("1", "what holds a part on over what pulls at it, less one: screws, a rod's clamp"),
    "margin.thread": ("1", "the pull at which threads give over what pulls at them, less one"),
    "margin.rod": ("1", "the pull at which the tie rod yields over its pull, less one"),
    "margin.temperature": ("1", "room to the service limit of the parts, over limit less start"),
    "margin.inside": ("1", "room to the limit of the things inside, over limit less start"),
    "margin.joint": ("1", "room to the limit of the joints, over limit less start"),
    "margin.exposure": ("1", "time in the heat that a temper outlasts over that of all flights, less one"),
    "margin.coupler": ("1", "room round the base's aft end over its growth, less one"),
    "margin.shoulder": (
        "1",
        "stress that crushes the sample over that of weight, spin or pressing, less one",
    ),
    "margin.pressing": ("1", "pressure that the sample is pressed with over what its joint needs, less one"),
    "margin.contact": ("1", "how far the pressing follows over what the sample draws off the wall, less one"),
    "margin.smallest": ("1", "the smallest of all margins"),
    "assembly.opening_room": ("m", "clear opening less what must pass it, across, cold in and hot out"),
    "assembly.bar_overhang": ("1", "how far the boring bar stands out, over its diameter"),
    "turning.wall": ("1", "the thinnest wall over the thinnest that is turned of its material, less one"),
    "turning.bar": ("1", "overhang that a boring bar of its kind cuts at over its own, less one"),
    "turning.bore": ("1", "the thickest bar that goes into the cavity over turning.smallest_bar, less one"),
    "turning.corner": (
        "1",
        "fillet over the tool's nose radius, or a length over what its arcs take, less one",
    ),
    "turning.deflection": ("1", "turning.wall_tolerance over how far the wall gives way, less one"),
    "turning.deflection_length": ("m", "how far the thin wall gives way under the finishing tool"),
    "turning.stock": ("1", "turning.largest_stock over the bar that is needed, less one"),
    "turning.thread": ("1", "turns of thread, walls and room at the joints over what they need, less one"),
    "turning.smallest": ("1", "the smallest of what the rules of the lathe found"),
    "pocket.overpressure_peak": (
        "Pa pressure",
        "highest pressure in the pocket over that outside",
    ),
    "outline.drag_change": ("1", "change of the nose's wave drag coefficient against the given outline"),
    "outline.pressure_centre_change": ("m", "how far the nose's own centre of pressure moves, positive aft"),
    "vehicle.static_margin_change": ("1", "change of the static margin in calibres, positive is stabler"),
    "vehicle.ballast": ("kg", "ballast that restores the static margin, at vehicle.ballast_station"),
    "error.energy": ("J", "numerical error of the peak energy, of the worst flow state"),
    "error.temperature": ("K difference", "largest numerical error of the peak temperatures"),
    "balance.residual": ("1", "heat balance with an independently integrated flux, over integral |q|"),
}
DEPTHS = tuple(name for name in _METRICS if ".depth_" in name)
"""Metrics that a table for people leaves out where they are nought."""

SMALLEST_OF = MappingProxyType(
    {
        whole: tuple(
            name
            for name, (unit, _) in _METRICS.items()
            if name.startswith(f"{room}.") and name != whole and unit == "1"
        )
        for room, whole in (("margin", "margin.smallest"), ("turning", "turning.smallest"))
    }
)
"""Metrics that are the smallest of others, with these; some may be lacking in a design, or not count."""

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
        "sample.pressing_force": "force that its joint needs",
        "sample.log_reduction": "log reduction (indicative)",
        "shell.mass": "shell mass",
        "shell.centre_of_mass": "  its centre, from the nose",
        "plug.temperature_peak": "plug, hottest point",
        "band.temperature_peak": "band, hottest point",
        "base.temperature_peak": "base, hottest point",
        "plug.depth_over_limit": "plug, depth over its limit",
        "band.depth_over_limit": "band, depth over its limit",
        "base.depth_over_limit": "base, depth over its limit",
        "plug.depth_decomposed": "plug, depth decomposed",
        "band.depth_decomposed": "band, depth decomposed",
        "base.depth_decomposed": "base, depth decomposed",
        "margin.yield": "yield margin",
        "margin.strain": "strain margin",
        "margin.shakedown": "shakedown margin",
        "margin.buckling": "buckling margin",
        "margin.retention": "retention margin",
        "margin.thread": "thread margin",
        "margin.rod": "tie rod margin",
        "margin.temperature": "temperature margin",
        "margin.joint": "joint margin",
        "margin.inside": "margin of things inside",
        "margin.exposure": "margin of time in the heat",
        "margin.coupler": "coupler margin",
        "margin.shoulder": "shoulder margin",
        "margin.pressing": "pressing margin",
        "margin.contact": "contact margin",
        "margin.smallest": "smallest margin",
        "assembly.opening_room": "room for the sample's way, across",
        "assembly.bar_overhang": "boring bar's overhang, diameters",
        "turning.wall": "turning: thinnest wall",
        "turning.bar": "turning: boring bar's overhang",
        "turning.bore": "turning: bar in the bore",
        "turning.corner": "turning: inside corners",
        "turning.deflection": "turning: wall under the tool",
        "turning.deflection_length": "turning: how far the wall gives way",
        "turning.stock": "turning: bar it comes from",
        "turning.thread": "turning: threads and spigots",
        "turning.smallest": "turning: smallest of these",
        "pocket.overpressure_peak": "pocket, pressure over outside",
        "outline.drag_change": "wave drag coefficient, change",
        "outline.pressure_centre_change": "nose's centre of pressure, change",
        "vehicle.static_margin_change": "static margin, change",
        "vehicle.ballast": "ballast for the static margin",
        "error.energy": "numerical error of the peak energy",
        "error.temperature": "numerical error of peak temperatures",
        "balance.residual": "heat balance, residual",
    }
)
