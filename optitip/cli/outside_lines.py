"""What becomes of the outside, as a person reads it: of one design, and of a whole front."""

from collections.abc import Mapping, Sequence

from optitip.evaluate.outside import DragChange, Outside, StabilityChange
from optitip.metrics.outside import BALLAST, DRAG, MARGIN, PRESSURE_CENTRE
from optitip.metrics.registry import LABELS, UNITS
from optitip.metrics.values import Bracketed
from optitip.report.figures import figure_text
from optitip.units import System, shown, text

UNTOUCHED = "The outside is untouched: drag, shock and centre of pressure stay as they are."


def outside_lines(outside: Outside, units: System) -> list[str]:
    """Return what a design changes outside, and what its mass does to the static margin."""
    lines = [UNTOUCHED]
    if outside.touched:
        moved = _moved(outside.pressure_centre_change, units)
        lines = [
            f"Outside, against the given outline: {_drag_text(outside.drag)}; "
            f"the nose's own centre of pressure moves {moved}."
        ]
    if outside.stability is not None:
        lines.append(_margin_line(outside.stability, units))
    return lines


def front_lines(front: Sequence[Mapping[str, Bracketed]], *, free: bool, units: System) -> list[str]:
    """Return what the members of a front, given by their metrics, change outside: from least to most."""
    lines = [] if free else [UNTOUCHED]
    names = ((DRAG, PRESSURE_CENTRE) if free else ()) + (MARGIN, BALLAST)
    said = [one for name in names if (one := _range_text(front, name, units))]
    if said:
        lines.append(f"On this front, against the vehicle as it was: {'; '.join(said)}.")
    return lines


def _drag_text(drag: DragChange | None) -> str:
    if drag is None:
        return "no flight, so no wave drag"
    if not drag.waves:
        return f"no wave drag, as the flight never passes Mach {drag.mach:.2f}"
    change = drag.after - drag.before
    share = 100.0 * change / drag.before
    return (
        f"wave drag coefficient of the nose {drag.before:.4f} to {drag.after:.4f} ({change:+.4f}, "
        f"{share:+.1f} %) at Mach {drag.mach:.2f}"
    )


def _moved(distance: float, units: System) -> str:
    return f"{text(abs(distance), 'm', units, digits=3)} {'aft' if distance >= 0.0 else 'fore'}"


def _margin_line(one: StabilityChange, units: System) -> str:
    """Return what mass and outline do to the static margin, and what restores it."""
    lighter = one.replaced_mass - one.tip_mass
    weight = f"{text(abs(lighter), 'kg', units, digits=3)} {'lighter' if lighter >= 0.0 else 'heavier'}"
    margin = f"the static margin changes by {one.change:+.2f} calibres"
    if one.before is not None and one.after is not None:
        margin += f", from {one.before:.2f} to {one.after:.2f}"
    if one.bound:
        margin += " at the worst (vehicle.normal_force_slope would tell)"
    station = f"{text(one.station, 'm', units, digits=3)} from the given nose point"
    if one.ballast is None:
        remedy = f"The wrong way, and no ballast {station} restores it: put it further fore."
    elif one.ballast > 0.0:
        needed = text(one.ballast, "kg", units, digits=3)
        remedy = f"The wrong way: ballast of {needed} {station} restores it."
    else:
        remedy = "It needs no ballast."
    return (
        f"With its sample the tip is {weight} than the part it replaces and the centre of mass moves "
        f"{_moved(one.centre_of_mass_shift, units)}: {margin}. {remedy}"
    )


def _range_text(front: Sequence[Mapping[str, Bracketed]], name: str, units: System) -> str:
    """Return the least and the most of a metric on a front; nothing where no member has it."""
    found = [metrics[name].expected for metrics in front if name in metrics]
    if not found:
        return ""
    unit = shown(0.0, UNITS[name], units)[1]
    least, most = (figure_text(one, UNITS[name], units) for one in (min(found), max(found)))
    return f"{LABELS[name].strip()} {least} to {most} {unit}".rstrip()
