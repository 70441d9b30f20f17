"""The kinds of value a study may hold, text with a unit read into a checked SI float, and what a table is."""

from collections.abc import Callable
from typing import Annotated, TypeAlias

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field

from optitip.units import UnitError, quantity, text


def _reader(
    si: str, *, above: float | None = None, least: float | None = None, most: float | None = None
) -> Callable[[object], float]:
    """Return the function that reads a quantity of the kind ``si`` within its limits."""

    def read(value: object) -> float:
        if isinstance(value, bool) or not isinstance(value, str | int | float):
            raise UnitError(f"{value!r} is no quantity", "Write a number with its unit between quotes")
        number = quantity(value if isinstance(value, str) else f"{value!r}", si)
        if above is not None and number <= above:
            raise UnitError(f"'{value}' is not above {text(above, si)}", "Give a larger value")
        if least is not None and number < least:
            raise UnitError(f"'{value}' is below {text(least, si)}", "Give a larger value")
        if most is not None and number > most:
            raise UnitError(f"'{value}' is above {text(most, si)}", "Give a smaller value")
        return number

    return read


def _spin(value: object) -> float:
    """Read a rate of turning [rad/s]; hertz are refused, since they may count turns or radians."""
    if isinstance(value, str) and value.rstrip().endswith("Hz"):
        raise UnitError(f"'{value}' may count turns or radians", "Write it in rpm or rad/s")
    return _reader("rad/s", least=0.0, most=1e4)(value)


Spin: TypeAlias = Annotated[float, BeforeValidator(_spin)]
Length: TypeAlias = Annotated[float, BeforeValidator(_reader("m", above=0.0, most=10.0))]
LengthOrZero: TypeAlias = Annotated[float, BeforeValidator(_reader("m", least=0.0, most=10.0))]
Roughness: TypeAlias = Annotated[float, BeforeValidator(_reader("m", least=0.0, most=1e-3))]
Height: TypeAlias = Annotated[float, BeforeValidator(_reader("m", least=-11000.0, most=47000.0))]
Angle: TypeAlias = Annotated[float, BeforeValidator(_reader("rad", above=0.0, most=1.5707963267948966))]
Time: TypeAlias = Annotated[float, BeforeValidator(_reader("s", least=0.0, most=86400.0))]
Shift: TypeAlias = Annotated[float, BeforeValidator(_reader("s", least=-86400.0, most=86400.0))]
Speed: TypeAlias = Annotated[float, BeforeValidator(_reader("m/s", above=0.0, most=500.0))]
Wind: TypeAlias = Annotated[float, BeforeValidator(_reader("m/s", least=0.0, most=50.0))]
Irradiance: TypeAlias = Annotated[float, BeforeValidator(_reader("W/m2", least=0.0, most=1500.0))]
Acceleration: TypeAlias = Annotated[float, BeforeValidator(_reader("m/s2", least=0.0, most=1e5))]
Force: TypeAlias = Annotated[float, BeforeValidator(_reader("N", least=0.0, most=1e6))]
Stress: TypeAlias = Annotated[float, BeforeValidator(_reader("Pa", above=0.0, most=1e10))]
Offset: TypeAlias = Annotated[float, BeforeValidator(_reader("m", least=-1e-3, most=1e-3))]
Mass: TypeAlias = Annotated[float, BeforeValidator(_reader("kg", above=0.0, most=1e5))]
Pressure: TypeAlias = Annotated[float, BeforeValidator(_reader("Pa", above=0.0, most=2e5))]
AirTemperature: TypeAlias = Annotated[float, BeforeValidator(_reader("K", least=200.0, most=340.0))]
Temperature: TypeAlias = Annotated[float, BeforeValidator(_reader("K", least=150.0, most=2000.0))]
FilmCoefficient: TypeAlias = Annotated[float, BeforeValidator(_reader("W/(m2 K)", above=0.0, most=1e9))]
FilmCoefficientOrZero: TypeAlias = Annotated[float, BeforeValidator(_reader("W/(m2 K)", least=0.0, most=1e3))]
ConductanceOrZero: TypeAlias = Annotated[float, BeforeValidator(_reader("W/K", least=0.0, most=1e4))]
Conductivity: TypeAlias = Annotated[float, BeforeValidator(_reader("W/(m K)", above=0.0, most=5000.0))]
Share: TypeAlias = Annotated[float, BeforeValidator(_reader("1", above=0.0, most=1.0))]
Emissivity: TypeAlias = Annotated[float, BeforeValidator(_reader("1", least=0.0, most=1.0))]
Ratio: TypeAlias = Annotated[float, BeforeValidator(_reader("1", least=0.0, most=100.0))]
Factor: TypeAlias = Annotated[float, BeforeValidator(_reader("1", least=1.0, most=100.0))]
PeakMach: TypeAlias = Annotated[float, BeforeValidator(_reader("1", least=0.3, most=5.0))]
Burn: TypeAlias = Annotated[float, BeforeValidator(_reader("s", least=0.05, most=60.0))]
Exponent: TypeAlias = Annotated[float, BeforeValidator(_reader("1", above=0.0, most=1.0))]
# a slender nose has 2 per radian of its own: a vehicle that flies straight has more
NormalForceSlope: TypeAlias = Annotated[float, BeforeValidator(_reader("1", least=2.0, most=1000.0))]
Reynolds: TypeAlias = Annotated[float, BeforeValidator(_reader("1", least=1e4, most=1e9))]
Count: TypeAlias = Annotated[int, Field(ge=1, le=10_000_000, strict=True)]
Name: TypeAlias = Annotated[str, Field(min_length=1)]


class Table(BaseModel):
    """A table of the study: unknown keys are mistakes and values don't change."""

    model_config = ConfigDict(extra="forbid", frozen=True)
