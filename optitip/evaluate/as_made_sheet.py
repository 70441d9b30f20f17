"""The sheet on which a shop writes what it measured, for ``check --as-made``: TOML with the drawn values."""

from collections.abc import Iterator

from optitip.evaluate.building import Tip, build_tip
from optitip.evaluate.drawn import AFT, FORE, MEASURED, drawn_lengths
from optitip.evaluate.weights import weights_of
from optitip.geometry.mesh import DEFAULT_RESOLUTION
from optitip.inputs.as_made import MEASURABLE
from optitip.inputs.study import Study
from optitip.units import System, quantity, shown, text

_NOT_ON_THE_PART = ("outline.diameter", "outline.length", "sample.pocket.offset", "sample.pocket.length")
_HEAD = """# The part as made: {title}
# Write what you measured between the quotes, each value with its unit; what stays "" is taken as drawn. Then:
#   optitip check STUDY --as-made THIS_FILE
# Walls are normal to the outside; z counts along the axis, from the nose point.
"""
_WALL = f"""
# The band's wall, at as many stations as you like, z where it is met on the outside. Instead of z you can
# give z_from_aft, from the aft face of the whole tip; instead of readings "{FORE}" and "{AFT}".
"""
_WEIGHED = 1e-5  # [kg] that a balance tells apart
_DIAMETER = """
# Diameters in place of walls: take the '# ' away. The bore's edge is at z; the outside is read at the same z.
# [[diameter]]
# z = ""
# outside = ""
# bore = ""
"""


def blank_as_made(study: Study, *, units: System = System.METRIC, finished: float | None = None) -> str:
    """Return the sheet for the study's own part, each drawn value as a comment beside its key.

    Filled in with the drawn values it gives the drawn answer, to the last digit. ``finished`` [kg] is what
    the parts weigh with their spigots, recesses, threads and holes, which the model hasn't.
    """
    tip = build_tip(study.tables, folder=study.folder, resolution=DEFAULT_RESOLUTION)
    lines = [
        *_length_lines(study, units),
        *_mass_lines(tip, units, finished),
        _WALL.rstrip("\n"),
        *_wall_lines(tip, units),
    ]
    head = _HEAD.format(title=" ".join(study.title.split()))
    return "\n".join([head, *lines, _DIAMETER])


def _length_lines(study: Study, units: System) -> Iterator[str]:
    for key, value in drawn_lengths(study).items():
        if key not in {*_NOT_ON_THE_PART, FORE, AFT}:
            yield f'"{key}" = ""  # drawn {_text(value, units)}: {MEASURABLE[key]}'


def _mass_lines(tip: Tip, units: System, finished: float | None) -> Iterator[str]:
    weights = weights_of(tip)
    model = weights.shell["shell.mass"]
    yield ""
    if finished is not None and abs(finished - model) > _WEIGHED:
        apart = text(abs(finished - model), "kg", units, digits=3)
        more, do = ("heavier", "take that off") if finished > model else ("lighter", "add that to")
        yield f"# With spigots, recesses, threads, holes the parts are {apart} {more} than the model's shell:"
        yield f"# {do} what the balance shows of all of them together."
    shell = text(model, "kg", units)
    yield f'mass = ""  # drawn {shell}: all turned parts together, without threads, spigots and holes'
    yield f'slab_mass = ""  # drawn {text(weights.slab_mass, "kg", units)}: the sample alone'


def _wall_lines(tip: Tip, units: System) -> Iterator[str]:
    fore, aft = tip.cavity.band_arc
    for share in MEASURED:
        arc = fore + share * (aft - fore)
        station, unit = shown(float(tip.outline.at([arc])[0][0]), "m", units)
        z = round(station, 2 if units is System.METRIC else 3)
        there = tip.outline.arc_length_of([quantity(f"{z:.9g} {unit}", "m")])
        yield "[[wall]]"
        yield f'z = "{z:.9g} {unit}"'
        yield f'thickness = ""  # drawn {_text(float(tip.cavity.wall_thickness(there)[0]), units)}'


def _text(value: float, units: System) -> str:
    """Return a value with six decimals at most: finer than is read, and the drawn one when read back."""
    number, unit = shown(value, "m", units)
    return f"{number:.6f}".rstrip("0").rstrip(".") + f" {unit}"
