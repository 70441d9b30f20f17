"""``optitip materials [NAME]``: what a study can name, and where each figure comes from."""

from typing import Annotated

import typer
from rich.table import Table

from optitip.cli.answers import console
from optitip.properties.materials import Material, load_material, material_names
from optitip.units import System, shown, text

ROOM = 293.15


def command(
    name: Annotated[str | None, typer.Argument(help="One material, for all of it with its sources.")] = None,
    units: Annotated[System, typer.Option(help="Units of the answer.")] = System.METRIC,
) -> None:
    """List the materials, or show one with the source of each property."""
    if name is None:
        console().print(_all_materials(units))
    else:
        _show(load_material(name), units)


def _all_materials(units: System) -> Table:
    limit_unit = shown(ROOM, "K", units)[1]
    table = Table(title="Materials, at room temperature", title_justify="left")
    table.add_column("name", overflow="fold")
    table.add_column("is a")
    for header in ("density\n[kg/m3]", "k\n[W/(m K)]", "cp\n[J/(kg K)]", f"service limit\n[{limit_unit}]"):
        table.add_column(header, justify="right")
    for name in material_names():
        material = load_material(name)
        limit = material.service_limit
        table.add_row(
            name,
            material.family.value,
            f"{material.density:.4g}",
            f"{float(material.conductivity_at(ROOM)):.4g}",
            f"{float(material.heat_capacity_at(ROOM)) / material.density:.4g}",
            "none" if limit is None else f"{shown(limit, 'K', units)[0]:.0f}",
        )
    return table


def _show(material: Material, units: System) -> None:
    low, high = (text(value, "K", units) for value in material.valid)
    limit = "none" if material.service_limit is None else text(material.service_limit, "K", units)
    out = console()
    out.print(f"{material.title} ({material.family.value})", style="bold", markup=False)
    out.print(
        f"valid from {low} to {high}; service limit {limit} {material.service_reason}".rstrip(), markup=False
    )
    for caution in material.cautions:
        out.print(f"Caution: {caution}", style="bold", markup=False)
    table = Table("property", "source")
    for name, source in material.sources:
        table.add_row(name, source)
    out.print(table)
