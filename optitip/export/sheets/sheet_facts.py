"""What a part's sheets say in words beside its shape: material, stock, tolerances, notes."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from optitip.evaluate.building import Tip
from optitip.evaluate.turnable import Turnable
from optitip.export.parts.part import TurnedPart
from optitip.inputs.turning_tables import Support
from optitip.metrics.stock import Stock
from optitip.units import System, text

CAUTION = (
    "CHECK BEFORE METAL IS CUT: the shape is reckoned; hold it against the vehicle and the part in hand."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetFacts:
    """The texts of a sheet; an empty one is left for a hand to fill in.

    ``revision`` is the study's fingerprint with the design's name. ``broken`` are rules of the lathe and
    limits that the design doesn't keep: every sheet says so.
    """

    study: str
    design: str
    revision: str
    material: str
    mass: str = ""
    coating: str = "none"
    finish: str = ""
    tolerance: str = "ISO 2768-m"
    stock: str = ""
    drawn_by: str = ""
    notes: tuple[str, ...] = ()
    broken: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()


def facts_of(
    part: TurnedPart,
    *,
    tip: Tip,
    turned: Turnable,
    study: str,
    design: str,
    fingerprint: str,
    notes: Sequence[str] = (),
    against: Sequence[str] = (),
    system: System = System.METRIC,
) -> SheetFacts:
    """Return what a part's sheets say, as its study has it; ``turned`` is what the lathe's rules found of it.

    ``notes`` come after those of the rules: what the tolerances do to the answer, for one. ``against`` is
    what of that answer speaks against making it at all.
    """
    turning = tip.tables.turning
    stock = [one for one in turned.stock if one.part == part.name]
    refused = [f"CAN'T BE TURNED AS DRAWN: {one.said(system)}" for one in turned.findings if not one.kept]
    return SheetFacts(
        study=study,
        design=design,
        revision=f"{fingerprint} / {design}",
        material=part.material,
        mass=text(part.mass, "kg", system),
        coating=_coating(tip, system),
        finish=f"Ra {1e6 * turning.finish:.3g} µm",
        stock=stock_text(stock[0], system=system) if stock else "",
        drawn_by=turning.drawn_by or "",
        notes=(*_advice(part, turned, system), *notes),
        broken=(*refused, *against),
        cautions=(CAUTION,),
    )


def stock_text(stock: Stock, *, system: System = System.METRIC) -> str:
    """Return what a part is sawn from, in words."""
    long, grip = (text(one, "m", system, digits=3) for one in (stock.length, stock.grip))
    return f"{stock.bar.name}, {long} long, {grip} gripped"


def _advice(part: TurnedPart, turned: Turnable, system: System) -> Iterator[str]:
    """Yield what the lathe's rules advise about the part that has the band."""
    if part.name != "shell":
        return
    for one in turned.advice:
        yield one.said(system)
    if turned.push is not None and turned.support is Support.NONE:
        force = text(turned.push.passive, "N", system, digits=2)
        way = text(turned.push.deflection, "m", system, digits=2)
        yield f"The finishing tool pushes the wall with about {force}, and it gives way by {way}."


def _coating(tip: Tip, system: System) -> str:
    layer = tip.tables.tip.coating
    if layer is None:
        return "none"
    thickness = text(layer.thickness, "m", system, digits=3)
    return f"{thickness} after turning, emissivity {layer.emissivity:g}"
