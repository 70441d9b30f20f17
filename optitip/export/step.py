"""The parts of a tip as solids in a STEP file, in millimetres; needs the extra ``cad``."""

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from optitip.errors import UserMistakes
from optitip.export.dxf import Title, plain
from optitip.export.files import whole_file
from optitip.export.parts.part import TurnedPart
from optitip.export.parts.profile import Profile

NO_TIME = "1970-01-01T00:00:00"  # so that one design is one file
_HEADER = re.compile(rb"FILE_NAME\(.*?\);", re.DOTALL)
_TRANSLATOR = re.compile(rb"(Open CASCADE STEP translator [\d.]+) [\d.]+")


@dataclass(frozen=True, slots=True, kw_only=True)
class StepFile:
    """What was written, and what was left out with the reason."""

    path: Path
    names: tuple[str, ...]
    left_out: tuple[str, ...]


def write_step(
    parts: Sequence[TurnedPart],
    *,
    sample: Sequence[Profile] = (),
    title: Title,
    folder: Path,
    name: str = "parts.step",
) -> StepFile:
    """Write each part as a named solid of revolution in millimetres, the axis along z from the nose point.

    Lines become cylinders, cones and planes, arcs spheres and tori: no splines. Threads are plain cylinders
    as drawn, holes across or beside the axis aren't in the solids. Of ``sample`` only what covers the whole
    circumference is a solid of revolution; the rest is left out and named.
    Raises UserMistakes without the extra ``cad``.
    """
    lining = [one for one in sample if not one.metal]
    whole = [one for one in lining if one.share == 1.0]
    bodies = {f"{one.name}: {one.material}": one.closed for one in parts}
    bodies |= {f"{one.layer.lower()}: {one.material}, not metal": one.segments for one in whole}
    write = _writer()
    with whole_file(folder, name) as path:
        write(bodies, path=path)
        content = _HEADER.sub(lambda _: _file_name(title), path.read_bytes(), count=1)
        path.write_bytes(_TRANSLATOR.sub(rb"\1", content))
    return StepFile(
        path=folder / name,
        names=tuple(bodies),
        left_out=tuple(
            f"{one.layer.lower()}: it covers {100 * one.share:.3g} % of the circumference"
            for one in lining
            if one.share != 1.0
        ),
    )


def _writer() -> Callable[..., None]:
    """Return what writes solids, or raise the user's mistake of a missing package."""
    try:
        from optitip.export.step_solids import write_solids  # noqa: PLC0415 (an optional extra)
    except ModuleNotFoundError:
        remedy = "Install it: pip install 'optitip[cad]'"
        raise UserMistakes.one("step", "the package that writes STEP files isn't there", remedy) from None
    except ImportError as error:
        # compiled code that Ctrl-C stops while it is loaded says that it can't be
        if isinstance(error.__cause__, KeyboardInterrupt):
            raise KeyboardInterrupt from None
        problem = f"the package that writes STEP files can't be loaded ({error})"
        raise UserMistakes.one("step", problem, "Put right what it misses: pip check") from None
    return write_solids


def _file_name(title: Title) -> bytes:
    """Return the header's entity: design, no time, no names of people or machines."""
    words = plain(f"design {title.design} of {title.study}").replace("'", "''")
    written = words.encode("ascii", "replace").decode()
    return f"FILE_NAME('{written}','{NO_TIME}',(''),(''),'','optitip {title.version}','');".encode()
