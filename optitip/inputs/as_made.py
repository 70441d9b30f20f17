"""What was measured on a turned part, from a TOML file: lengths by study key, walls, diameters, masses in SI.

A value left as "" wasn't measured. Whether a reading is likely is asked where the drawn part is known.
"""

import difflib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Self

from pydantic import ValidationError, model_validator

from optitip.errors import Mistake, UserMistakes
from optitip.inputs.fields import Length, LengthOrZero, Mass, Table
from optitip.inputs.toml_files import read_toml
from optitip.units import UnitError

MEASURABLE: Mapping[str, str] = {
    "outline.diameter": "diameter of the whole nose at its base",
    "outline.length": "length of the whole nose, from its sharp tip",
    "outline.turned_length": "length of the tip, nose point to aft face",
    "outline.tip_radius": "radius of the nose",
    "tip.plug.length": "nose point to the cavity's fore face, on the axis",
    "tip.plug.wall": "wall at the plug's end",
    "tip.plug.fillet": "fillet in the cavity's fore corner",
    "tip.plug.insert": "nose point to the insert's joint",
    "tip.fore_taper": "fore taper, along the outside",
    "tip.band.thickness": "wall of the band at its fore end",
    "tip.band.thickness_aft": "wall of the band at its aft end",
    "tip.band.length": "band, along the outside",
    "tip.aft_taper": "aft taper, along the outside",
    "tip.base.thickness": "wall of the base",
    "tip.base.bore": "bore through the base",
    "tip.coating.thickness": "coating",
    "sample.pocket.offset": "band's fore end to the pocket",
    "sample.pocket.length": "pocket, along the outside",
    "sample.slab.thickness": "slab",
    "sample.backing.thickness": "backing of the slab",
}
"""The lengths that can be measured, by study key, and what each is."""
_TABLES = ("outline", "tip", "sample")


class _Placed(Table):
    """Where along the tip: from the nose point, or from the aft face of the whole tip."""

    z: LengthOrZero | None = None
    z_from_aft: LengthOrZero | None = None

    @model_validator(mode="after")
    def _one_station(self) -> Self:
        if (self.z is None) == (self.z_from_aft is None):
            raise UnitError("a reading has one station", "Give z from the nose point, or z_from_aft")
        return self

    def station(self, turned_length: float) -> float:
        """Return the station [m] from the nose point of a tip of that length [m]."""
        return turned_length - (self.z_from_aft or 0.0) if self.z is None else self.z


class WallReading(_Placed):
    """The wall's thickness, normal to its outside, where that is at the station."""

    thickness: Length


class DiameterReading(_Placed):
    """Diameters at a station: of the outside, of the bore, or both."""

    outside: Length | None = None
    bore: Length | None = None

    @model_validator(mode="after")
    def _something_measured(self) -> Self:
        if self.outside is None and self.bore is None:
            raise UnitError("nothing is measured there", "Give outside, bore or both")
        return self


class _File(Table):
    lengths: dict[str, Length]
    wall: tuple[WallReading, ...] = ()
    diameter: tuple[DiameterReading, ...] = ()
    mass: Mass | None = None
    slab_mass: Mass | None = None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Measured:
    """The readings of one part: ``lengths`` [m] by study key, masses [kg] of all turned metal and the slab.

    ``wall_places`` and ``diameter_places`` number the readings as they stand in the file, from 1.
    """

    file: str
    lengths: Mapping[str, float]
    wall: tuple[WallReading, ...]
    diameter: tuple[DiameterReading, ...]
    mass: float | None
    slab_mass: float | None
    wall_places: tuple[str, ...]
    diameter_places: tuple[str, ...]


def read_as_made(path: str | Path) -> Measured:
    """Return what a file says was measured; raises ``UserMistakes`` with all that is wrong with it."""
    path = Path(path)
    raw = read_toml(path, what="file of readings")
    lengths, mistakes = _lengths(raw, file=path.name)
    rest = {key: value for key, value in raw.items() if "." not in key and key not in _TABLES}
    kept = {key: _entries(rest[key]) for key in ("wall", "diameter") if key in rest}
    plain = {key: value for key, value in rest.items() if value != "" and key not in kept}
    entries = {key: [entry for _, entry in found] for key, found in kept.items()}
    places: dict[str, tuple[str, ...]] = {
        key: tuple(f"{path.name}, {key} {number}" for number, _ in found) for key, found in kept.items()
    }
    try:
        found = _File.model_validate({"lengths": lengths, **plain, **entries})
    except ValidationError as error:
        raise UserMistakes([*mistakes, *_schema_mistakes(error, path.name, places)]) from None
    if mistakes:
        raise UserMistakes(mistakes)
    return Measured(
        file=path.name,
        lengths=found.lengths,
        wall=found.wall,
        diameter=found.diameter,
        mass=found.mass,
        slab_mass=found.slab_mass,
        wall_places=places.get("wall", ()),
        diameter_places=places.get("diameter", ()),
    )


def _lengths(raw: Mapping[str, Any], *, file: str) -> tuple[dict[str, object], list[Mistake]]:
    """Return the measured values by dotted key, quoted or as tables, and what can't be measured."""
    found: dict[str, object] = {}
    mistakes = []
    for key, value in _flat(raw):
        if key in found:
            mistakes.append(Mistake(f"{file}, {key}", "it is measured twice", "Keep one of the two"))
        elif key not in MEASURABLE:
            near = difflib.get_close_matches(key, MEASURABLE, n=1)
            remedy = f"Did you mean '{near[0]}'" if near else f"Known here: {', '.join(MEASURABLE)}"
            mistakes.append(Mistake(f"{file}, {key}", "this is no length that is measured", remedy))
        elif value != "":
            found[key] = value
    return found, mistakes


def _flat(raw: Mapping[str, Any], *, above: str = "") -> Iterator[tuple[str, object]]:
    for key, value in raw.items():
        dotted = f"{above}{key}"
        if isinstance(value, dict) and (above or key in _TABLES):
            yield from _flat(value, above=f"{dotted}.")
        elif above or "." in key or key in _TABLES:
            yield dotted, value


def _entries(table: object) -> list[tuple[int, object]]:
    """Return the readings of a table in a list with their numbers, those that were left blank dropped."""
    if not isinstance(table, list):
        return [(1, table)]
    kept = []
    for number, entry in enumerate(table, start=1):
        if not isinstance(entry, dict):
            kept.append((number, entry))
            continue
        values = {key: value for key, value in entry.items() if value != ""}
        if values == entry or values.keys() - {"z", "z_from_aft"}:
            kept.append((number, values))
    return kept


def _schema_mistakes(
    error: ValidationError, file: str, places: Mapping[str, tuple[str, ...]]
) -> Iterator[Mistake]:
    for item in error.errors():
        table, *rest = item["loc"] or ("",)
        within = [str(part) for part in rest]
        place = f"{file}, {table}"
        if table in places and rest and isinstance(rest[0], int):
            place, within = places[str(table)][rest[0]], within[1:]
        elif table == "lengths":
            place, within = f"{file}, {rest[0]}", []
        place = ", ".join([place, *within])
        cause = item.get("ctx", {}).get("error")
        if isinstance(cause, UnitError):
            yield Mistake(place, cause.problem, cause.remedy)
        elif item["type"] == "extra_forbidden":
            yield Mistake(place, "this key is unknown", f"Known here: {_known(str(table), bool(within))}")
        elif item["type"] == "missing":
            yield Mistake(place, "this key is missing", "Add it, or leave the whole reading out")
        else:
            yield Mistake(place, "this is no reading", f"Head each one with [[{table}]]")


def _known(table: str, inside: bool) -> str:
    readings: dict[str, type[Table]] = {"wall": WallReading, "diameter": DiameterReading}
    model = readings[table] if inside and table in readings else _File
    return ", ".join(name for name in model.model_fields if name != "lengths")
