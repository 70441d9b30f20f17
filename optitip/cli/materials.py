"""``optitip materials [NAME]``: what a study can name, and where each figure comes from."""

from collections.abc import Iterator
from typing import Annotated

import typer
from rich.markup import escape
from rich.table import Table

from optitip.cli.answers import console
from optitip.cli.tables import show_table, table
from optitip.properties.materials import Family, Material, load_material, material_names
from optitip.units import System, shown, text

ROOM = 293.15


def command(
    name: Annotated[str | None, typer.Argument(help="One material, for all of it with its sources.")] = None,
    units: Annotated[System, typer.Option(help="Units of the answer.")] = System.METRIC,
) -> None:
    """List the materials, or show one with the source of each property."""
    if name is None:
        show_table(console(), _all_materials(units))
    else:
        _show(load_material(name), units)


def _all_materials(units: System) -> Table:
    limit_unit = shown(ROOM, "K", units)[1]
    headers = (
        "density\n\\[kg/m3]",
        "conductivity\n\\[W/(m K)]",
        "heat capacity\n\\[J/(kg K)]",
        f"limit\n\\[{limit_unit}]",
    )
    made = table(
        "Materials at room temperature, and their service limits",
        ("name", False),
        ("is a", False),
        *((header, True) for header in headers),
    )
    made.columns[0].no_wrap = True  # a name is there to be copied
    for name in material_names():
        material = load_material(name)
        limit = material.service_limit
        made.add_row(
            name,
            material.family.value,
            f"{material.density:.4g}",
            f"{float(material.conductivity_at(ROOM)):.4g}",
            f"{float(material.heat_capacity_at(ROOM)) / material.density:.4g}",
            "none" if limit is None else f"{shown(limit, 'K', units)[0]:.0f}",
        )
    return made


def _show(material: Material, units: System) -> None:
    low, high = (text(value, "K", units) for value in material.valid)
    limit = "none" if material.service_limit is None else text(material.service_limit, "K", units)
    limit += " (judged by its depth in the shell)" if material.judged_by_depth else ""
    out = console()
    out.print(f"{material.title} ({material.family.value})", style="bold", markup=False)
    out.print(
        f"valid from {low} to {high}; service limit {limit} {material.service_reason}".rstrip(), markup=False
    )
    for line in (*_phase_lines(material, units), *_endurance_lines(material, units)):
        out.print(line, markup=False)
    for caution in material.cautions:
        out.print(f"Caution: {caution}", style="bold", markup=False)
    made = table("Where each figure comes from", ("property", False), ("source", False))
    for name, source in material.sources:
        made.add_row(escape(name), escape(source))
    show_table(out, made)


def _phase_lines(material: Material, units: System) -> Iterator[str]:
    """Yield what the material does as it warms beside warming, and whether the heat comes back."""

    def heat(per_volume: float) -> str:
        return text(per_volume / material.density, "J/kg", units)

    if (melting := material.melting) is not None:
        low, high = (text(end, "K", units) for end in (melting.low, melting.high))
        taken = heat(melting.latent_heat)
        if material.family is Family.FOOD:
            yield f"Freezes from {high} down: its ice gives {taken} as far as {low}, and takes it on thawing."
        else:
            yield f"Melts from {low} to {high}, taking {taken}, and gives it back on freezing."
    if (boiling := material.boiling) is not None:
        at = text(boiling.temperature, "K", units)
        yield f"Boils in a vented pocket, at {at} under 1 atm, taking {heat(boiling.latent_heat)} for good."
    if (charring := material.decomposition) is not None:
        at = text(charring.temperature, "K", units)
        yield f"Decomposes at {at}, taking {heat(charring.latent_heat)} for good."


def _endurance_lines(material: Material, units: System) -> Iterator[str]:
    """Yield what the material stands as a sample, and how long a temper lasts in the heat."""
    if (crushed := material.strength) is not None:
        low, expected, high = (
            text(stress, "Pa", units) for stress in (crushed.low, crushed.expected, crushed.high)
        )
        yield f"Crushed by {expected}, {low} to {high}."
    if (cooked := material.shrinkage) is not None:
        low, high = (text(end, "K", units) for end in (cooked.low, cooked.high))
        yield f"Shrinks by {100 * cooked.strain:.3g} % in length for good as it warms from {low} to {high}."
    if (temper := material.exposure) is not None:
        time = f"{temper.time / 3600.0:.4g} h"
        at = text(temper.temperature, "K", units)
        constant = f"Larson-Miller constant {temper.constant:.4g}"
        yield f"Keeps its cold strength for {time} at {at}; less where hotter, {constant}."
    if (lathe := material.machining) is not None:
        thinnest, advised = (text(wall, "m", units) for wall in (lathe.thinnest, lathe.advised))
        cut = lathe.cutting
        force = "" if cut is None else f"; cut with {text(cut.force, 'Pa', units)} of a chip of 1 mm2"
        yield f"Turned to walls of {thinnest}, {advised} advised{force}."
