"""The only door to pint: text with a unit comes in, SI floats go out, and back.

pint on its own reads ``20 C`` as coulomb, evaluates ``(2+3) mm`` and lets ``nan mm`` through, so the
number and the unit are split by a grammar of our own and pint is asked about the unit alone.
"""

import math
import re
from enum import Enum
from functools import lru_cache
from tokenize import TokenError
from typing import Self

import pint

_REGISTRY: "pint.UnitRegistry[float]" = pint.UnitRegistry(autoconvert_offset_to_baseunit=True)
_NUMBER = r"[+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d+)?"
_QUANTITY = re.compile(rf"\s*({_NUMBER})\s*(.*?)\s*")
_POWER = r"(?:(?:\*\*|\^)?-?\d)?"
_TERM = rf"\(*[A-Za-z_°%µμ]+{_POWER}\)*{_POWER}"
_UNIT_TEXT = re.compile(rf"(?:1\s*/\s*)?{_TERM}(?:\s*[*/·\s]\s*{_TERM})*")
_HEADER = re.compile(r"\s*(.*?)\s*\[\s*([^\[\]]*?)\s*\]\s*")
_SPELLING = {
    "°C": "degC",
    "°F": "degF",
    "C": "degC",
    "F": "degF",
    "degc": "degC",
    "degf": "degF",
    "g0": "g_0",
}
_ABSOLUTE = {
    "degC": (273.15, 1.0),
    "degF": (459.67 * 5.0 / 9.0, 5.0 / 9.0),
    "K": (0.0, 1.0),
    "kelvin": (0.0, 1.0),
}


class UnitError(ValueError):
    """A text is no quantity of the kind asked for; the message names problem and remedy."""

    def __init__(self, problem: str, remedy: str) -> None:
        """Keep what is wrong and what to write instead."""
        self.problem = problem
        self.remedy = remedy
        super().__init__(f"{problem}. {remedy}.")


class System(Enum):
    """How quantities are shown to a person."""

    METRIC = "metric"
    US = "us"


_EXAMPLES = {
    "m": "12 mm", "K": "15 degC", "s": "30 s", "Pa": "101325 Pa", "kg": "2.5 kg", "m/s": "20 m/s",
    "W/(m2 K)": "400 W/(m2 K)", "W/K": "0.5 W/K", "rad": "85 deg", "J": "2 kJ", "W/(m K)": "0.2 W/(m K)",
    "m/s2": "30 g0", "N": "50 N", "m2": "12 cm2", "K difference": "20 delta_degC", "J/m2": "50 kJ/m2",
    "J/kg": "40 J/g", "W/m2": "800 W/m2", "Pa pressure": "50 kPa",
}  # fmt: skip


def _example(unit: str) -> str:
    return f"'{_EXAMPLES.get(unit, f'1 {unit}')}'"


def _no_quantity(text: str, unit: str) -> UnitError:
    remedy = "Write a plain number" if unit == "1" else f"Write a number and a unit, like {_example(unit)}"
    return UnitError(f"'{text}' is no quantity", remedy)


def _spelled_for_pint(unit: str) -> str:
    unit = unit.strip().replace("²", "2").replace("³", "3").replace("·", " ")
    unit = re.sub(r"([A-Za-z])\^?(-?\d)(?![\d])", r"\1**\2", unit.replace("g0", "g_0"))
    return re.sub(r"(?<=[\w)])\s+(?=[A-Za-z(])", "*", unit)


@lru_cache(maxsize=4096)
def _factor(unit: str, si: str) -> float:
    """Return the factor from ``unit`` to ``si``, or say why there is none."""
    if len(unit) > 40 or not _UNIT_TEXT.fullmatch(unit):
        raise UnitError(f"'{unit}' is no unit", f"Write one like {_example(si)}")
    try:
        source = _REGISTRY.parse_units(_spelled_for_pint(unit))
        target = _REGISTRY.parse_units(_spelled_for_pint(si))
        if source.dimensionality != target.dimensionality:
            raise UnitError(f"'{unit}' is no unit of this kind", f"Give a unit like {_example(si)}")
        return float(_REGISTRY.Quantity(1.0, source).to(target).magnitude)
    except (pint.UndefinedUnitError, pint.OffsetUnitCalculusError):
        raise UnitError(f"the unit '{unit}' is unknown", f"Give a unit like {_example(si)}") from None
    except UnitError:
        raise
    except (pint.PintError, ValueError, TypeError, AttributeError, SyntaxError, AssertionError, TokenError):
        raise UnitError(f"'{unit}' is no unit", f"Write one like {_example(si)}") from None


@lru_cache(maxsize=4096)
def scale(unit: str, si: str) -> tuple[float, float]:
    """Return ``(offset, factor)`` so that ``si value = offset + factor * value``.

    An absolute temperature is asked for with ``si="K"``, a difference with ``si="K difference"``; ``si="Pa
    pressure"`` is a pascal that people read in other units than they read stress.

    >>> scale("mm", "m")
    (0.0, 0.001)
    >>> scale("degC", "K")
    (273.15, 1.0)
    """
    plain = _SPELLING.get(unit.strip(), unit.strip())
    if si == "K":
        if plain not in _ABSOLUTE:
            raise UnitError(f"'{unit}' is no unit of temperature", "Give degC, degF or K")
        return _ABSOLUTE[plain]
    if si == "K difference":
        if plain not in {"K", "kelvin", "delta_degC", "delta_degF"}:
            problem = f"'{unit}' is no unit of a temperature difference"
            raise UnitError(problem, "Give K, delta_degC or delta_degF")
        return 0.0, _factor(plain, "K")
    si = si.removesuffix(" pressure")
    if si == "1":
        if plain not in {"", "1", "%"}:
            raise UnitError(f"'{unit}' stands on a number that has no unit", "Give the plain number")
        return 0.0, 0.01 if plain == "%" else 1.0
    if not plain:
        raise UnitError("there is no unit", f"Write it with one, like {_example(si)}")
    return 0.0, _factor(plain, si)


def number(text: str) -> float:
    """Return the finite number that ``text`` is; only digits, sign, point and exponent are taken.

    >>> number("1e6")
    1000000.0
    """
    match = re.fullmatch(rf"\s*({_NUMBER})\s*", text)
    if match is None or not math.isfinite(float(match[1])):
        raise UnitError(f"'{text}' is no number", "Write digits, like 12 or 1.5e6")
    return float(match[1])


@lru_cache(maxsize=4096)
def quantity(text: str, si: str) -> float:
    """Return the SI value of ``text``, a number and its unit, as a quantity of the kind ``si``.

    >>> quantity("12 mm", "m")
    0.012
    >>> quantity("68 degF", "K")
    293.15
    >>> quantity("400 W/(m2 K)", "W/(m2 K)")
    400.0
    """
    match = _QUANTITY.fullmatch(text)
    if match is None:
        raise _no_quantity(text, si)
    value = number(match[1])
    if not match[2] and si not in {"1"}:
        raise UnitError(f"'{text}' has no unit", f"Write it with one, like {_example(si)}")
    offset, factor = scale(match[2], si)
    return round(offset + factor * value, 12) if si == "K" else offset + factor * value


def split_quantity(text: str) -> tuple[float, str]:
    """Return the number and the unit that ``text`` is made of, unconverted.

    >>> split_quantity("0.8 mm")
    (0.8, 'mm')
    """
    match = _QUANTITY.fullmatch(text)
    if match is None:
        raise UnitError(f"'{text}' is no quantity", "Write a number and a unit, like '12 mm'")
    return number(match[1]), match[2]


def split_header(header: str) -> tuple[str, str]:
    """Return the name and the unit of a column header such as ``time [s]``; no brackets, no unit.

    >>> split_header("film coefficient [W/(m2 K)]")
    ('film coefficient', 'W/(m2 K)')
    """
    match = _HEADER.fullmatch(header)
    return (match[1], match[2]) if match else (header.strip(), "")


# si unit -> (metric unit, offset, factor), (US unit, offset, factor); shown = (si - offset) / factor
_SHOWN: dict[str, dict[System, tuple[str, float, float]]] = {
    "K": {System.METRIC: ("degC", 273.15, 1.0), System.US: ("degF", 459.67 * 5.0 / 9.0, 5.0 / 9.0)},
    "K difference": {System.METRIC: ("K", 0.0, 1.0), System.US: ("degF", 0.0, 5.0 / 9.0)},
    "m": {System.METRIC: ("mm", 0.0, 1e-3), System.US: ("inch", 0.0, 0.0254)},
    "kg": {System.METRIC: ("g", 0.0, 1e-3), System.US: ("lb", 0.0, 0.45359237)},
    "Pa pressure": {System.METRIC: ("kPa", 0.0, 1e3), System.US: ("psi", 0.0, 6894.757293168)},
    "Pa": {System.METRIC: ("MPa", 0.0, 1e6), System.US: ("ksi", 0.0, 6.894757293168e6)},
    "m/s": {System.METRIC: ("m/s", 0.0, 1.0), System.US: ("ft/s", 0.0, 0.3048)},
    "altitude": {System.METRIC: ("m", 0.0, 1.0), System.US: ("ft", 0.0, 0.3048)},
    "N": {System.METRIC: ("N", 0.0, 1.0), System.US: ("lbf", 0.0, 4.4482216152605)},
    "N m": {System.METRIC: ("N m", 0.0, 1.0), System.US: ("lbf ft", 0.0, 4.4482216152605 * 0.3048)},
    "J": {System.METRIC: ("J", 0.0, 1.0), System.US: ("BTU", 0.0, 1055.05585262)},
    "J/m2": {System.METRIC: ("kJ/m2", 0.0, 1e3), System.US: ("BTU/ft2", 0.0, 11356.526682)},
    "J/kg": {System.METRIC: ("J/g", 0.0, 1e3), System.US: ("BTU/lb", 0.0, 2326.0)},
    "W/(m2 K)": {
        System.METRIC: ("W/(m2 K)", 0.0, 1.0),
        System.US: ("BTU/(h ft2 degF)", 0.0, 1055.05585262 / (3600.0 * 0.09290304 * 5.0 / 9.0)),
    },
}


def written(si: str) -> str:
    """Return an SI unit as a file writes it, without what of it only people read otherwise.

    >>> written("Pa pressure"), written("K difference"), written("J/m2")
    ('Pa', 'K', 'J/m2')
    """
    return si.removesuffix(" pressure").removesuffix(" difference")


def shown(value: float, si: str, system: System = System.METRIC) -> tuple[float, str]:
    """Return a value of SI unit ``si`` and its unit as a person reads them in ``system``.

    >>> shown(0.0015, "m")
    (1.5, 'mm')
    """
    unit, offset, factor = _SHOWN.get(si, {}).get(system, (si, 0.0, 1.0))
    return (value - offset) / factor, "" if unit == "1" else unit


def text(value: float, si: str, system: System = System.METRIC, *, digits: int = 4) -> str:
    """Return a value of SI unit ``si`` as a person reads it, with its unit.

    >>> text(373.15, "K")
    '100 degC'
    >>> text(0.0254, "m", System.US)
    '1 inch'
    >>> text(86400.0, "s")
    '86400 s'
    """
    number_shown, unit = shown(value, si, system)
    return f"{_digits(number_shown, digits)} {unit}".rstrip()


class Sentence(str):
    """A sentence in metric units that can be said in others: its quantities stand at {0}, {1}, ...

    >>> one = Sentence("it reaches {0} at {1}", (423.15, "K"), (0.012, "m"))
    >>> print(one)
    it reaches 150 degC at 12 mm
    >>> print(one.said(System.US))
    it reaches 302 degF at 0.472 inch
    """

    __slots__ = ("figures", "words")
    words: str
    figures: tuple[tuple[float, str], ...]

    def __new__(cls, words: str, *figures: tuple[float, str]) -> Self:
        """Return the sentence; each figure is a value and its SI unit."""
        one = super().__new__(cls, _filled(words, figures, System.METRIC))
        one.words, one.figures = words, figures
        return one

    def __reduce__(self) -> tuple[object, ...]:
        """Let the sentence cross a process border with its figures."""
        return Sentence, (self.words, *self.figures)

    def said(self, system: System) -> str:
        """Return it in the units of ``system``."""
        return _filled(self.words, self.figures, system)


def _filled(words: str, figures: tuple[tuple[float, str], ...], system: System) -> str:
    return words.format(*(text(value, unit, system, digits=3) for value, unit in figures))


def difference_text(value: float, si: str, system: System = System.METRIC, *, digits: int = 2) -> str:
    """Return a difference of two values of SI unit ``si`` as a person reads it: of temperatures no offset.

    >>> difference_text(0.25, "K"), difference_text(0.25, "K", System.US)
    ('0.25 K', '0.45 degF')
    >>> difference_text(0.012, "kg")
    '12 g'
    """
    return text(value, "K difference" if si == "K" else si, system, digits=digits)


def _digits(number: float, digits: int) -> str:
    """Return a number in so many digits, large ones without a power of ten."""
    written = f"{number:.{digits}g}"
    return f"{float(written):.0f}" if "e+0" in written else written
