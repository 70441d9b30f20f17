"""Materials at temperature: conductivity, heat capacity, enthalpy, strength, and where each holds.

All materials share one uniform grid of temperature whose nodes are whole degrees Celsius, so that a
table's own points are nodes; one that freezes or melts has more nodes there. Outside the range a source
covers, the end values are held.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from enum import Enum
from pathlib import Path
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike
from pydantic import BaseModel

from optitip.arrays import BoolArray, FloatArray, frozen
from optitip.inputs.material_files import material_files, read_material
from optitip.inputs.material_records import (
    ElasticRecord,
    MaterialRecord,
    Property,
    Sourced,
)
from optitip.properties import food
from optitip.properties.endurance import CrushingStrength, Exposure, Shrinkage
from optitip.properties.machining import Machining, machining_of
from optitip.properties.phases import (
    Melting,
    SpentHeat,
    even_melting,
    freezing_nodes,
    melting_nodes,
    with_nodes,
)

REFERENCE_TEMPERATURE = 293.15
"""Temperature [K] at which densities and the Kirchhoff transform's conductivity are taken."""

_STEP = 1.0  # K
_GRID: FloatArray = 73.15 + _STEP * np.arange(2401, dtype=np.float64)  # -200 to 2200 degC


class Family(Enum):
    """What kind of thing a material is."""

    METAL = "metal"
    POLYMER = "polymer"
    FOOD = "food"
    GAS = "gas"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Elastic:
    """What stress needs, over ``temperature`` (n,) [K].

    ``modulus`` (n,) [Pa], ``expansion`` (n,) [1/K] the secant coefficient from ``reference_temperature``
    [K], ``yield_strength`` (n,) [Pa]; ``valid`` [K] is the range that all three sources cover.
    """

    temperature: FloatArray
    modulus: FloatArray
    poisson: float
    expansion: FloatArray
    reference_temperature: float
    yield_strength: FloatArray
    valid: tuple[float, float]

    def modulus_at(self, temperature: ArrayLike) -> FloatArray:
        """Return Young's modulus [Pa] at ``temperature`` [K], any shape.

        Linear between the table's points. Valid in ``valid``; outside, the end value is held.

        Source: the material's file.
        """
        return _between(temperature, self.temperature, self.modulus)

    def expansion_at(self, temperature: ArrayLike) -> FloatArray:
        """Return the secant expansion [1/K] from the reference temperature to ``temperature`` [K], any shape.

        Free strain = expansion (T - reference_temperature). Linear between the table's points.
        Valid in ``valid``; outside, the end value is held.

        Source: the material's file.
        """
        return _between(temperature, self.temperature, self.expansion)

    def yield_at(self, temperature: ArrayLike) -> FloatArray:
        """Return the yield strength [Pa] at ``temperature`` [K], any shape.

        Linear between the table's points. Valid in ``valid``; outside, the end value is held: above the
        range that is too high, so a design that goes there must be reported.

        Source: the material's file.
        """
        return _between(temperature, self.temperature, self.yield_strength)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Material:
    """One material on the grid ``temperature`` (n,) [K].

    ``conductivity`` (n,) [W/(m K)]; ``heat_capacity`` (n,) = rho cp [J/(m3 K)], the heat of melting in it;
    ``enthalpy`` (n,) [J/m3], its trapezoidal integral from the first temperature; ``kirchhoff`` (n,) [K], the
    temperature that conducts the same heat at the constant ``conductivity_reference`` [W/(m K)]:
    reference + integral of (k/k_ref) dT. ``valid`` [K] is the range the sources cover. ``melting`` is told
    once more by itself; ``boiling`` and ``decomposition``, of which a material has one at most, are not in
    the enthalpy. ``judged_by_depth``: an insulator, which may pass its service limit so far in. ``strength``,
    ``shrinkage``, ``exposure`` and ``machining`` are there where the file has them.
    """

    name: str
    title: str
    family: Family
    density: float
    temperature: FloatArray
    conductivity: FloatArray
    heat_capacity: FloatArray
    enthalpy: FloatArray
    kirchhoff: FloatArray
    reference_temperature: float
    conductivity_reference: float
    valid: tuple[float, float]
    boiling: SpentHeat | None
    elastic: Elastic | None
    emissivity: float | None
    service_limit: float | None
    service_reason: str
    cautions: tuple[str, ...]
    sources: tuple[tuple[str, str], ...]
    melting: Melting | None = None
    decomposition: SpentHeat | None = None
    judged_by_depth: bool = False
    strength: CrushingStrength | None = None
    shrinkage: Shrinkage | None = None
    exposure: Exposure | None = None
    machining: Machining | None = None

    @property
    def spent_heat(self) -> SpentHeat | None:
        """Return the heat that doesn't come back: of boiling or of decomposition."""
        return self.decomposition if self.boiling is None else self.boiling

    def conductivity_at(self, temperature: ArrayLike) -> FloatArray:
        """Return the conductivity [W/(m K)] at ``temperature`` [K], any shape.

        Linear on the grid. Valid in ``valid``; outside, the end value is held.

        Source: the material's file.
        """
        return _between(temperature, self.temperature, self.conductivity)

    def heat_capacity_at(self, temperature: ArrayLike) -> FloatArray:
        """Return the heat capacity rho cp [J/(m3 K)] at ``temperature`` [K], any shape, melting in it.

        Linear on the grid. Valid in ``valid``; outside, the end value is held.

        Source: the material's file.
        """
        return _between(temperature, self.temperature, self.heat_capacity)

    def enthalpy_at(self, temperature: ArrayLike) -> FloatArray:
        """Return the sensible enthalpy [J/m3] at ``temperature`` [K], any shape.

        e = integral of rho cp dT from the grid's first temperature: the heat of melting, which comes back, is
        in it; that of boiling or decomposition, which doesn't, is not.
        Linear on the grid. Valid in ``valid``; outside, rho cp is held; past the grid's ends e is held.

        Source: the material's file, integrated.
        """
        return _between(temperature, self.temperature, self.enthalpy)

    def in_valid_range(self, temperature: ArrayLike) -> BoolArray:
        """Return whether the sources cover ``temperature`` [K], any shape.

        low <= T <= high of ``valid``. Valid for any temperature.

        Source: the material's file.
        """
        T = np.asarray(temperature, dtype=np.float64)
        return np.asarray((self.valid[0] <= T) & (self.valid[1] >= T))


def material_names(folder: str | Path | None = None) -> tuple[str, ...]:
    """Return the names of all materials, those in the user's ``folder`` with them.

    >>> "6061-T6" in material_names()
    True
    """
    return tuple(material_files(folder))


def load_material(name: str, *, folder: str | Path | None = None) -> Material:
    """Return the material of a name; a file in the user's ``folder`` comes before the package's own.

    Case, spaces, hyphens and underscores in the name don't matter. Raises ``UserMistakes``.

    >>> material = load_material("6061-t6")
    >>> f"{float(material.conductivity_at(293.15)):.1f}", f"{material.density:.0f}"
    ('167.0', '2700')
    """
    known, record = read_material(name, folder=folder)
    thermal = _measured(known, record) if record.composition is None else _composed(record)
    T, k, c = thermal.temperature, thermal.conductivity, thermal.heat_capacity
    k_ref = float(np.interp(REFERENCE_TEMPERATURE, T, k))
    theta = _integral(k / k_ref, T)
    return Material(
        name=known,
        title=record.title,
        family=Family(record.family),
        density=thermal.density,
        temperature=frozen(T),
        conductivity=frozen(k),
        heat_capacity=frozen(c),
        enthalpy=frozen(_integral(c, T)),
        kirchhoff=frozen(REFERENCE_TEMPERATURE + theta - np.interp(REFERENCE_TEMPERATURE, T, theta)),
        reference_temperature=REFERENCE_TEMPERATURE,
        conductivity_reference=k_ref,
        valid=thermal.valid,
        boiling=_boiling(record, thermal.density),
        elastic=None if record.elastic is None else _elastic(record.elastic),
        emissivity=None if record.emissivity is None else record.emissivity.value,
        service_limit=None if record.service_limit is None else record.service_limit.value,
        service_reason="" if record.service_limit is None else record.service_limit.reason,
        cautions=record.cautions,
        sources=tuple(_sources(record)),
        melting=thermal.melting,
        decomposition=_decomposition(record, thermal.density),
        judged_by_depth=record.service_limit is not None and record.service_limit.judged == "depth",
        strength=_strength(record),
        shrinkage=_shrinkage(record),
        exposure=_exposure(record),
        machining=machining_of(record.turning),
    )


class _Thermal(NamedTuple):
    density: float
    temperature: FloatArray
    conductivity: FloatArray
    heat_capacity: FloatArray
    valid: tuple[float, float]
    melting: Melting | None


def _measured(name: str, record: MaterialRecord) -> _Thermal:
    """Return what the tables give on the grid, melting added, and the range both sources cover."""
    if record.density is None or record.conductivity is None or record.specific_heat is None:
        raise TypeError(f"the record of {name} is neither measured nor composed")
    T, density, melts = _GRID, record.density.value, record.melting
    valid = _common(record.conductivity, record.specific_heat)
    if melts is None:
        k, cp = _at(T, record.conductivity), _at(T, record.specific_heat)
        return _Thermal(density, T, k, density * cp, valid, None)
    melting = Melting(low=melts.low, high=melts.high, latent_heat=density * melts.latent_heat)
    T = with_nodes(_GRID, melting_nodes(melting.low, melting.high))
    c = density * _at(T, record.specific_heat) + even_melting(T, melting)
    return _Thermal(density, T, _at(T, record.conductivity), c, valid, melting)


def _composed(record: MaterialRecord) -> _Thermal:
    """Return the same for a food; its density is held at 20 degC, for the mesh doesn't move."""
    if record.composition is None:
        raise TypeError("the record has no composition")
    fractions = {str(name): share for name, share in record.composition.fractions.items()}
    low, high = record.composition.valid
    ice = record.freezing
    freezing = None if ice is None else ice.temperature
    grid = _GRID if freezing is None else with_nodes(_GRID, freezing_nodes(low, freezing))
    T = np.clip(grid, low, high)
    structure = food.Structure(record.composition.structure)
    k = food.conductivity(fractions, temperature=T, structure=structure, freezing=freezing)
    cp = food.specific_heat(fractions, temperature=T, freezing=freezing)
    density = float(food.density(fractions, temperature=REFERENCE_TEMPERATURE))
    if ice is None:
        return _Thermal(density, grid, k, density * cp, (low, high), None)
    added = density * food.heat_of_melting(
        fractions, temperature=T, freezing=ice.temperature, latent_heat=ice.latent_heat
    )
    taken = np.interp([low, ice.temperature], grid, _integral(added, grid))
    melting = Melting(low=low, high=ice.temperature, latent_heat=float(taken[1] - taken[0]))
    return _Thermal(density, grid, k, density * cp + added, (low, high), melting)


def _between(temperature: ArrayLike, nodes: FloatArray, values: FloatArray) -> FloatArray:
    return np.asarray(np.interp(np.asarray(temperature, dtype=np.float64), nodes, values))


def _at(temperature: FloatArray, curve: Property) -> FloatArray:
    return np.interp(temperature, curve.temperature, curve.value)


def _common(*curves: Property) -> tuple[float, float]:
    return max(c.temperature[0] for c in curves), min(c.temperature[-1] for c in curves)


def _integral(values: FloatArray, temperature: FloatArray) -> FloatArray:
    """Return the trapezoidal integral over the temperatures from the first."""
    return np.concatenate([[0.0], np.cumsum(0.5 * np.diff(temperature) * (values[1:] + values[:-1]))])


def _boiling(record: MaterialRecord, density: float) -> SpentHeat | None:
    """Return the latent heat of the water in a volume of wet food: x_water rho L."""
    if record.boiling is None or record.composition is None:
        return None
    fractions = record.composition.fractions
    water = fractions["water"] / sum(fractions.values())
    latent = water * density * record.boiling.latent_heat
    return SpentHeat(temperature=record.boiling.temperature, latent_heat=latent)


def _decomposition(record: MaterialRecord, density: float) -> SpentHeat | None:
    """Return the heat that the decomposition of a volume takes."""
    if record.decomposition is None:
        return None
    heat = density * record.decomposition.heat
    return SpentHeat(temperature=record.decomposition.temperature, latent_heat=heat)


def _strength(record: MaterialRecord) -> CrushingStrength | None:
    own = record.strength
    return None if own is None else CrushingStrength(low=own.low, expected=own.expected, high=own.high)


def _shrinkage(record: MaterialRecord) -> Shrinkage | None:
    own = record.shrinkage
    return None if own is None else Shrinkage(strain=own.strain, low=own.low, high=own.high)


def _exposure(record: MaterialRecord) -> Exposure | None:
    own = record.exposure
    if own is None:
        return None
    return Exposure(temperature=own.temperature, time=own.time, constant=own.constant)


def _elastic(record: ElasticRecord) -> Elastic:
    curves = (record.modulus, record.expansion, record.yield_strength)
    T = np.unique(np.concatenate([curve.temperature for curve in curves]))
    modulus, expansion, strength = (frozen(np.interp(T, curve.temperature, curve.value)) for curve in curves)
    return Elastic(
        temperature=frozen(T),
        modulus=modulus,
        poisson=record.poisson.value,
        expansion=expansion,
        reference_temperature=record.reference_temperature,
        yield_strength=strength,
        valid=_common(*curves),
    )


def _sources(record: BaseModel, above: str = "") -> Iterator[tuple[str, str]]:
    """Yield each property's dotted name with its source, in the file's order of keys."""
    for name in type(record).model_fields:
        part = getattr(record, name)
        if isinstance(part, BaseModel):
            if isinstance(part, Sourced):
                yield f"{above}{name}", f"{part.source} ({part.note})" if part.note else part.source
            yield from _sources(part, above=f"{above}{name}.")
