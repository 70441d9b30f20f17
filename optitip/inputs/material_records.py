"""What a material's file may hold, checked and turned into SI: the schema of materials/*.toml."""

from collections.abc import Callable, Mapping
from itertools import pairwise
from typing import Annotated, Any, Literal, Self, TypeAlias

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, model_validator

from optitip.units import UnitError, quantity, scale, split_header

_WHOLE = 0.03  # how far from one the mass fractions of a composition may add up
_ICE = 273.15  # [K] below it water freezes
_NARROWEST = 0.01  # [K] of melting

FractionName: TypeAlias = Literal["water", "protein", "fat", "carbohydrate", "fibre", "ash"]


class _Table(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class Sourced(_Table):
    """A part of a file that names where its numbers come from, and what to know about them."""

    source: Annotated[str, Field(min_length=8)]
    note: str = ""


class Property(Sourced):
    """A property over temperature, SI; its source covers the temperatures from the first to the last."""

    temperature: tuple[float, ...]
    value: tuple[float, ...]


def _property(si: str, *, zero: bool = False) -> Callable[[object], object]:
    """Return the function that reads a property's table, or its one value with ``valid``, into SI."""

    def read(table: object) -> object:
        if not isinstance(table, Mapping):
            raise UnitError("this is no table", "Give value or a table over temperature, and a source")
        rest = {key: table[key] for key in table if key in {"source", "note"}}
        if "value" in table:
            return {**rest, **_constant(table, si, zero=zero)}
        return {**rest, **_over_temperature(table, si, zero=zero)}

    return read


def _constant(table: Mapping[str, Any], si: str, *, zero: bool) -> dict[str, Any]:
    _only(table, {"value", "valid", "source", "note"})
    valid = table.get("valid")
    if not isinstance(valid, list) or len(valid) != 2:
        raise UnitError("'valid' is missing", "Give the range, like valid = ['-50 degC', '150 degC']")
    temperature = [_single(end, "K") for end in valid]
    value = _single(table["value"], si)
    return _checked_curve(temperature, [value, value], zero=zero)


def _over_temperature(table: Mapping[str, Any], si: str, *, zero: bool) -> dict[str, Any]:
    _only(table, {"source", "note"}, beside={"temperature", "value"})
    temperature, value = _column(table, "temperature", "K"), _column(table, "value", si)
    if len(temperature) != len(value):
        problem = f"there are {len(temperature)} temperatures and {len(value)} values"
        raise UnitError(problem, "Give each temperature one value")
    return _checked_curve(temperature, value, zero=zero)


def _only(
    table: Mapping[str, Any], known: set[str], *, beside: frozenset[str] | set[str] = frozenset()
) -> None:
    for key in table:
        if key not in known and split_header(key)[0] not in beside:
            raise UnitError(f"the key '{key}' is unknown", f"Known here: {', '.join(sorted(known | beside))}")


def _column(table: Mapping[str, Any], name: str, si: str) -> list[float]:
    """Return a list whose key carries the unit of its numbers, like ``"value [W/(m K)]"``, in SI."""
    keys = [key for key in table if split_header(key)[0] == name]
    if len(keys) != 1:
        example = f'"{name} [{"degC" if si == "K" else si}]" = [20, 100]'
        raise UnitError(f"there are {len(keys)} lists of {name}", f"Give one, like {example}")
    offset, factor = scale(split_header(keys[0])[1], si)
    numbers = table[keys[0]]
    if not isinstance(numbers, list) or not all(type(number) in {int, float} for number in numbers):
        raise UnitError(f"'{keys[0]}' is no list of numbers", "Write plain numbers: the unit is in the key")
    return [
        round(offset + factor * number, 9) if si == "K" else offset + factor * number for number in numbers
    ]


def _checked_curve(temperature: list[float], value: list[float], *, zero: bool) -> dict[str, Any]:
    if len(temperature) < 2:
        raise UnitError("one temperature is no range", "Give two temperatures or more")
    if not (temperature[0] > 0.0 and temperature[-1] < 5000.0):
        raise UnitError("a temperature lies outside 0 to 5000 K", "Look at the unit of temperature")
    if not all(second > first for first, second in pairwise(temperature)):
        raise UnitError("the temperatures don't rise", "Sort them and take doubled ones out")
    if not all(0.0 < number < 1e15 or (zero and number == 0.0) for number in value):
        raise UnitError("a value is not above zero", "Put the value right")
    return {"temperature": tuple(temperature), "value": tuple(value)}


def _single(value: object, si: str) -> float:
    if isinstance(value, bool) or not isinstance(value, str | int | float):
        raise UnitError(f"{value!r} is no quantity", "Write a number with its unit between quotes")
    return quantity(value if isinstance(value, str) else repr(value), si)


def _amount(si: str, *, above: float = 0.0, most: float) -> Callable[[object], float]:
    """Return the function that reads a quantity above ``above`` and up to ``most``, both SI."""

    def read(value: object) -> float:
        number = _single(value, si)
        if not above < number <= most:
            raise UnitError(f"'{value}' is not between {above:g} and {most:g} {si}", "Put the value right")
        return number

    return read


def _share_or_zero(value: object) -> float:
    number = _single(value, "1")
    if not 0.0 <= number < 1.0:
        raise UnitError(f"'{value}' is not between 0 and 1", "Put the value right")
    return number


_Density: TypeAlias = Annotated[float, BeforeValidator(_amount("kg/m3", most=25000.0))]
_Temperature: TypeAlias = Annotated[float, BeforeValidator(_amount("K", most=4000.0))]
_LatentHeat: TypeAlias = Annotated[float, BeforeValidator(_amount("J/kg", most=1e8))]
_Fraction: TypeAlias = Annotated[float, BeforeValidator(_amount("1", most=1.0))]
_Strain: TypeAlias = Annotated[float, BeforeValidator(_share_or_zero)]
_Pressure: TypeAlias = Annotated[float, BeforeValidator(_amount("Pa", most=1e10))]
_Wall: TypeAlias = Annotated[float, BeforeValidator(_amount("m", most=0.1))]
_Exponent: TypeAlias = Annotated[float, BeforeValidator(_share_or_zero)]
_Time: TypeAlias = Annotated[float, BeforeValidator(_amount("s", most=1e9))]
_Constant: TypeAlias = Annotated[float, BeforeValidator(_amount("1", above=5.0, most=50.0))]
_Poisson: TypeAlias = Annotated[float, BeforeValidator(_amount("1", most=0.499))]
_Conductivity: TypeAlias = Annotated[Property, BeforeValidator(_property("W/(m K)"))]
_SpecificHeat: TypeAlias = Annotated[Property, BeforeValidator(_property("J/(kg K)"))]
_Stress: TypeAlias = Annotated[Property, BeforeValidator(_property("Pa"))]
_Yield: TypeAlias = Annotated[Property, BeforeValidator(_property("Pa", zero=True))]
_Expansion: TypeAlias = Annotated[Property, BeforeValidator(_property("1/K"))]


class DensityRecord(Sourced):
    """Density at 20 degC [kg/m3]."""

    value: _Density


class EmissivityRecord(Sourced):
    """Total hemispherical emissivity of the usual surface [1]."""

    value: _Fraction


class LimitRecord(Sourced):
    """The temperature [K] the material shouldn't pass in a flight, and why.

    ``judged`` by the peak of a part, or, of an insulator whose surface always passes it, by the depth to
    which it was passed.
    """

    value: _Temperature
    reason: Annotated[str, Field(min_length=8)]
    judged: Literal["peak", "depth"] = "peak"


class BoilingRecord(Sourced):
    """Water that boils out of the material at 101325 Pa: temperature [K], latent heat [J/kg of water]."""

    temperature: _Temperature
    latent_heat: _LatentHeat


class FreezingRecord(Sourced):
    """A food's initial freezing point [K] and the latent heat of water at 0 degC [J/kg of ice]."""

    temperature: _Temperature
    latent_heat: _LatentHeat


class MeltingRecord(Sourced):
    """Melting that is taken back on freezing: solidus and liquidus [K], latent heat [J/kg of material]."""

    low: Annotated[_Temperature, Field(alias="from")]
    high: Annotated[_Temperature, Field(alias="to")]
    latent_heat: _LatentHeat

    @model_validator(mode="after")
    def _rises(self) -> Self:
        if self.high - self.low < _NARROWEST:
            problem = f"the range of melting is narrower than {_NARROWEST:g} K"
            raise UnitError(problem, "Give solidus and liquidus; a tenth of a kelvin for a pure substance")
        return self


class DecompositionRecord(Sourced):
    """Decomposition, never taken back: temperature [K] at a flight's rates, heat [J/kg of material]."""

    temperature: _Temperature
    heat: _LatentHeat


class StrengthRecord(Sourced):
    """The stress [Pa] that crushes a sample in compression: low, expected and high of what is published."""

    low: _Pressure
    expected: _Pressure
    high: _Pressure

    @model_validator(mode="after")
    def _rises(self) -> Self:
        if not self.low <= self.expected <= self.high:
            raise UnitError("low, expected and high don't rise", "Sort the three")
        return self


class ShrinkageRecord(Sourced):
    """The linear strain [1] that cooking shortens a sample by, for good, and from and to where [K]."""

    strain: _Strain
    low: Annotated[_Temperature, Field(alias="from")]
    high: Annotated[_Temperature, Field(alias="to")]

    @model_validator(mode="after")
    def _rises(self) -> Self:
        if not self.low < self.high:
            raise UnitError("from is not below to", "Give the lower temperature as from")
        return self


class ExposureRecord(Sourced):
    """How long [s] at one temperature [K] a temper lasts, and the Larson-Miller constant (in hours)."""

    temperature: _Temperature
    time: _Time
    constant: _Constant = 20.0


class WallRecord(Sourced):
    """The wall [m] below which a shop refuses to turn the material, and the one it asks for."""

    thinnest: _Wall
    advised: _Wall

    @model_validator(mode="after")
    def _rises(self) -> Self:
        if self.thinnest > self.advised:
            raise UnitError("thinnest is above advised", "Give the wall that is refused as thinnest")
        return self


class CuttingRecord(Sourced):
    """Kienzle's specific cutting force [Pa] at a chip of 1 mm by 1 mm, and its exponent [1]."""

    force: _Pressure
    exponent: _Exponent


class TurningRecord(_Table):
    """What the lathe needs: the walls that stand it, and the force where somebody measured it."""

    wall: WallRecord
    cutting: CuttingRecord | None = None


class PoissonRecord(Sourced):
    """Poisson's ratio [1]."""

    value: _Poisson


class ElasticRecord(_Table):
    """What stress needs; ``expansion`` is the secant coefficient [1/K] from ``reference_temperature``."""

    reference_temperature: _Temperature
    poisson: PoissonRecord
    modulus: _Stress
    expansion: _Expansion
    yield_strength: _Yield


class CompositionRecord(Sourced):
    """A food's components as mass fractions [1], and the range of temperature [K] they are good for."""

    fractions: Annotated[dict[FractionName, _Fraction], Field(min_length=1)]
    structure: Literal["parallel", "series"] = "parallel"
    valid: tuple[_Temperature, _Temperature]

    @model_validator(mode="after")
    def _adds_up(self) -> Self:
        total = sum(self.fractions.values())
        if abs(total - 1.0) > _WHOLE:
            raise UnitError(f"the fractions add up to {total:.3f}", "Make them add up to one")
        if self.valid[0] >= self.valid[1]:
            raise UnitError("the range 'valid' does not rise", "Give the lower temperature first")
        return self


class MaterialRecord(_Table):
    """One material as its file gives it, in SI: either measured properties, or a food's composition."""

    title: Annotated[str, Field(min_length=1)]
    family: Literal["metal", "polymer", "food", "gas"]
    cautions: tuple[str, ...] = ()
    density: DensityRecord | None = None
    conductivity: _Conductivity | None = None
    specific_heat: _SpecificHeat | None = None
    composition: CompositionRecord | None = None
    emissivity: EmissivityRecord | None = None
    service_limit: LimitRecord | None = None
    boiling: BoilingRecord | None = None
    freezing: FreezingRecord | None = None
    melting: MeltingRecord | None = None
    decomposition: DecompositionRecord | None = None
    elastic: ElasticRecord | None = None
    strength: StrengthRecord | None = None
    shrinkage: ShrinkageRecord | None = None
    exposure: ExposureRecord | None = None
    turning: TurningRecord | None = None

    @model_validator(mode="after")
    def _is_measured_or_composed(self) -> Self:
        measured = {"density", "conductivity", "specific_heat"}
        given = sorted(name for name in measured if getattr(self, name) is not None)
        if self.composition is not None and given:
            raise UnitError(f"{', '.join(given)} and composition are both given", "Keep one of the two")
        missing = sorted(measured - set(given))
        if self.composition is None and missing:
            raise UnitError(f"{', '.join(missing)} is missing", "Add it, or a food's composition")
        if self.conductivity is not None and self.specific_heat is not None:
            k, cp = self.conductivity.temperature, self.specific_heat.temperature
            if max(k[0], cp[0]) >= min(k[-1], cp[-1]):
                raise UnitError(
                    "conductivity and specific_heat share no temperatures", "Extend one of the two"
                )
        return self

    @model_validator(mode="after")
    def _changes_what_it_has(self) -> Self:
        wet = self.composition is not None and "water" in self.composition.fractions
        if not wet:
            for name in ("boiling", "freezing"):
                if getattr(self, name) is not None:
                    problem = f"{name} needs water in a composition"
                    raise UnitError(problem, f"Give the composition, or drop {name}")
        if self.composition is not None:
            for name in ("melting", "decomposition"):
                if getattr(self, name) is not None:
                    problem = f"{name} and composition are both given"
                    raise UnitError(problem, "A food freezes and boils: keep one of the two")
        self._check_freezing(wet=wet)
        self._check_melting()
        return self

    def _check_freezing(self, *, wet: bool) -> None:
        if self.composition is None:
            return
        coldest = self.composition.valid[0]
        if self.freezing is None:
            if wet and coldest < _ICE:
                problem = "the range 'valid' of the composition goes below 0 degC, where water freezes"
                raise UnitError(problem, "Give freezing, or begin the range at 0 degC")
            return
        if not coldest < self.freezing.temperature < _ICE:
            problem = f"{self.freezing.temperature - _ICE:.4g} degC is no initial freezing point here"
            raise UnitError(
                f"freezing: {problem}",
                f"Give one below 0 degC and above {coldest - _ICE:.4g} degC, where 'valid' begins",
            )

    def _check_melting(self) -> None:
        if self.melting is None or self.conductivity is None or self.specific_heat is None:
            return
        k, cp = self.conductivity.temperature, self.specific_heat.temperature
        if self.melting.low < max(k[0], cp[0]) or self.melting.high > min(k[-1], cp[-1]):
            problem = "melting goes beyond the temperatures of conductivity and specific_heat"
            raise UnitError(problem, "Extend the two, solid below and liquid above")
