"""What a recorder's column label says: the quantity, the unit, and how much the words can be trusted."""

import re
from dataclasses import dataclass
from functools import lru_cache

from optitip.units import UnitError, scale

TIME = "time"
# quantity -> its SI unit
SI = {
    TIME: "s",
    "altitude": "m",
    "pressure": "Pa",
    "speed": "m/s",
    "mach": "1",
    "acceleration": "m/s2",
    "thrust": "N",
}
# as recorders spell a unit -> as a study does; only what can't mean another unit of the same quantity
_SPELLINGS = {
    TIME: {
        "s": "s sec secs second seconds",
        "ms": "ms msec msecs milli millis millisecond milliseconds",
        "us": "us µs μs usec usecs micro micros microsecond microseconds",
        "min": "min mins minute minutes",
    },
    "altitude": {
        "m": "m meter meters metre metres",
        "ft": "ft feet foot '",
        "km": "km",
        "cm": "cm",
        "mm": "mm",
    },
    "pressure": {
        "Pa": "pa pascal pascals",
        "hPa": "hpa mbar mb millibar millibars",
        "kPa": "kpa",
        "bar": "bar",
        "psi": "psi psia",
        "inHg": "inhg",
        "atm": "atm",
    },
    "speed": {
        "m/s": "m/s mps ms ms-1 m/sec m.s-1",
        "ft/s": "ft/s fps ft/sec fts",
        "mph": "mph",
        "km/h": "km/h kph kmh",
        "knot": "kt kts knot knots kn",
    },
    "acceleration": {
        "g0": "g g0 gs gee gees gforce",
        "m/s2": "m/s2 m/s^2 m/s² m/s/s m/s**2 mss mps2 ms-2 ms2 m/sec2 m/sec^2",
        "ft/s2": "ft/s2 ft/s^2 ft/s² fps2 ft/sec2",
        "0.001 g0": "mg millig",
    },
    "mach": {"1": "1 - m ma"},
    "thrust": {"N": "n newton newtons", "kN": "kn", "lbf": "lbf", "kgf": "kgf", "ozf": "ozf"},
}
# words that make a column the quantity, best first
_WORDS = {
    TIME: "time elapsed timestamp t clock utc millis ms msec micros us usec seconds secs sec ticks tick",
    "altitude": "altitude alt height agl asl msl elevation z",
    "pressure": "pressure press baro barometer pres p pstat",
    "speed": "speed velocity vel climb v vs vz airspeed",
    "mach": "mach",
    "acceleration": "acceleration accel acc axial accelx accely accelz ax ay az accx accy accz gforce a",
    "thrust": "thrust force f",
}
# words after which a column is something else, whatever stands beside them
_OTHERS = frozenset(
    re.findall(
        r"\w+",
        "temp temperature volt volts voltage vbat batt battery gyro roll pitch yaw heading "
        "lat latitude lon longitude long mag state status event flag flags count packet seq "
        "rssi snr humidity current power satellites sats hdop tilt angle quat error sigma "
        "variance servo continuity angular rot rotation ",
    )
)
_SECOND_CHOICE = frozenset(
    re.findall(
        r"\w+",
        "gps gnss max maximum peak raw setpoint target est estimated predicted apogee deploy "
        "main drogue std total magnitude abs norm lateral horizontal north east south west "
        "down ground ",
    )
)
_NO_UNITS = frozenset({"-", "--", "raw", "counts", "count", "ticks", "tick", "lsb", "adc"})
# what stands in brackets like a unit and is none
_REMARKS = frozenset(
    re.findall(
        r"\w+",
        "agl asl msl amsl above ground sea level gps baro barometric fused filtered smoothed raw "
        "calculated derived integrated relative rel true vertical axial x y z",
    )
)
_BRACKETED = re.compile(r"(.*?)\s*[\[({<]\s*([^\[\](){}<>]*?)\s*[\])}>]\s*")
_SCALED = re.compile(r"([+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d+)?)?\s*(?:/\s*(\d+(?:\.\d*)?))?\s*(\D.*)?")


@dataclass(frozen=True, slots=True, kw_only=True)
class Label:
    """A label taken apart: name without unit, unit as a study spells it, quantity; empty where not told."""

    name: str
    unit: str
    quantity: str
    rank: int
    """0 is the plainest name of its quantity"""


def read_label(label: str, *, unit_row: str = "") -> Label:
    """Return what a column's label, and the unit in a row under it, say.

    >>> read_label("Baro_Alt(ft)")
    Label(name='Baro_Alt', unit='ft', quantity='altitude', rank=1)
    >>> read_label("temp [degC]").quantity
    ''
    >>> read_label("press_hPa").unit, read_label("altFt").unit
    ('hPa', 'ft')
    >>> read_label("Height (AGL)")
    Label(name='Height (AGL)', unit='', quantity='altitude', rank=1)
    """
    bracketed = _BRACKETED.fullmatch(label.strip())
    if bracketed and _REMARKS.issuperset(_words_of(bracketed[2]) or [bracketed[2]]):
        bracketed = None
    name, written = (bracketed[1], bracketed[2]) if bracketed else (label.strip(), "")
    written = written or unit_row
    words = _words_of(name)
    quantity, rank = _quantity(words)
    if not quantity and not _OTHERS.intersection(words):
        return _of_unit_alone(name, written or name)
    if not quantity or written.casefold() in _NO_UNITS:
        return Label(name=name, unit="", quantity=quantity, rank=rank)
    if written:
        first = unit_as_written(written.split()[0], quantity)
        unit = unit_as_written(written, quantity) or first or written
        return Label(name=name, unit=unit, quantity=quantity, rank=rank)
    suffix = words[-1] if len(words) > 1 or quantity == TIME else ""
    return Label(name=name, unit=unit_as_written(suffix, quantity), quantity=quantity, rank=rank)


def _words_of(name: str) -> list[str]:
    split = re.sub(r"(?<=[a-z]{2})(?=[A-Z])", " ", name)  # hPa stays whole
    return [word.casefold() for word in re.findall(r"[A-Za-zµμ]+(?:/[A-Za-z]+\^?\d?)?", split)]


def _of_unit_alone(name: str, written: str) -> Label:
    for quantity in _SPELLINGS:
        if unit := _spelled(written, quantity):
            return Label(name=name, unit=unit, quantity=quantity, rank=3)
    return Label(name=name, unit="", quantity="", rank=0)


def _quantity(words: list[str]) -> tuple[str, int]:
    """Return the quantity a label's words name and their rank, or no quantity."""
    if _OTHERS.intersection(words):
        return "", 0
    for quantity in ("mach", "pressure", "acceleration", "speed", "altitude", "thrust", TIME):
        known = _WORDS[quantity].split()
        hit = [word for word in words if word in known]
        if hit and not (quantity == "pressure" and {"alt", "altitude", "height"} & set(words)):
            doubts = sum(word in _SECOND_CHOICE for word in words)
            plain = known.index(hit[0]) == 0 or (len(words) == 1 and len(hit[0]) > 1)
            return quantity, (0 if plain else 1) + 4 * doubts
    return "", 0


@lru_cache(maxsize=4096)
def unit_as_written(written: str, quantity: str) -> str:
    """Return a recorder's spelling of a unit as a study spells it, or nothing if it is none of the quantity.

    >>> unit_as_written("feet", "altitude"), unit_as_written("G", "acceleration")
    ('ft', 'g0')
    """
    plain = written.strip()
    if unit := _spelled(plain, quantity):
        return unit
    if written.strip() in {"1", "-"}:
        return "1" if quantity == "mach" else ""
    try:
        unit_scale(written, SI[quantity])
    except UnitError:
        return ""
    return written.strip() if plain else ""


def _spelled(written: str, quantity: str) -> str:
    """Return the unit that recorders spell so; pint would take an 'a' for years."""
    plain = written.casefold().replace(" ", "")
    spellings = _SPELLINGS[quantity].items()
    return next((unit for unit, known in spellings if plain and plain in known.split()), "")


@lru_cache(maxsize=4096)
def unit_scale(unit: str, si: str) -> tuple[float, float]:
    """Return ``(offset, factor)`` so that SI = offset + factor x value; the unit may have a number before it.

    >>> unit_scale("1/1024 s", "s")
    (0.0, 0.0009765625)
    >>> unit_scale("-1 g0", "m/s2")
    (-0.0, -9.80665)
    """
    match = _SCALED.fullmatch(unit.strip())
    if match is None or (match[1] is None and match[2] is not None):
        raise UnitError(f"'{unit}' is no unit", "Write one like '1/1024 s' or 'ft'")
    divisor = float(match[2] or 1.0)
    factor = float(match[1] or 1.0) / divisor if divisor else 0.0
    if factor == 0.0:
        raise UnitError(f"'{unit}' is no unit", "Write one like '1/1024 s' or 'ft'")
    offset, one = scale((match[3] or "").strip(), si)
    return offset * factor, one * factor


def split_map(text: str) -> tuple[str, int | None, str]:
    """Return what a study's map says: a column's label, or its number from 1, and its unit.

    >>> split_map("Alt(ft) [ft]"), split_map("column 3 [1/1024 s]")
    (('Alt(ft)', None, 'ft'), ('', 3, '1/1024 s'))
    """
    match = re.fullmatch(r"\s*(.*?)\s*(?:\[\s*([^\[\]]*?)\s*\])?\s*", text)
    name, unit = (match[1], match[2] or "") if match else (text.strip(), "")
    numbered = re.fullmatch(r"column\s+(\d{1,4})", name, re.IGNORECASE)
    return ("", int(numbered[1]), unit) if numbered else (name, None, unit)
