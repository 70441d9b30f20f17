"""How the tip is put together, as a person reads it."""

import math

from optitip.geometry.assembly import Assembly
from optitip.units import System, text


def assembly_lines(one: Assembly, units: System) -> list[str]:
    """Return which part opens, what goes through, what bores the cavity, and where wires and probe go."""

    def long(length: float) -> str:
        return text(length, "m", units, digits=3)

    how = "the base comes off" if one.base_comes_off else "nothing comes off, it goes through the base"
    lines = [
        f"To take the sample out {how}: it needs {long(one.passes_hot)} across while hot, "
        f"{long(one.way_out)} is clear."
    ]
    if one.opening_room < 0.0:
        lines.append("It comes out no sooner than cooled: hot it is wider than its way.")
    bar = one.bar
    undercut = f", past an undercut of {long(bar.undercut)} in radius" if bar.undercut > 0.0 else ""
    lines.append(
        f"A boring bar {long(bar.fore)} to {long(bar.aft)} thick reaches {long(bar.reach)} in{undercut}: "
        f"overhang {bar.overhang:.1f}, such a bar cuts to {bar.limit:g}."
    )
    if one.wires_hole is not None:
        lines.append(f"The narrowest the wires have is {long(one.wires_hole)} across.")
    if one.probe is not None:
        tilt = math.degrees(one.probe.tilt)
        lines.append(f"A probe goes in straight, {long(one.probe.length)} deep, {tilt:.0f} deg off the axis.")
    if one.seat_wall is not None and one.seat_depth is not None:
        lines.append(f"The flat seat takes {long(one.seat_depth)} of the wall, leaves {long(one.seat_wall)}.")
    return lines
