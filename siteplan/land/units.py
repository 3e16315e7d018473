"""How do people's quantities become floats in metres, kilograms and hours, and back?

The one pint registry lives here. A quantity is a plain number, a number with a unit, or feet and inches; a plain
length is in the unit of the site's drawing. Money is not a quantity: prices are plain numbers in the site's currency.
"""

from __future__ import annotations

import math
import re
from functools import cache, lru_cache
from typing import Literal, NamedTuple

import pint

from siteplan.land.unit_sizes import CUBIC_FOOT, CUBIC_YARD, FOOT, GALLON, GRAVITY, INCH, POUND, POUND_FORCE

System = Literal["metric", "imperial"]
Dimension = Literal[
    "length", "angle", "mass", "volume", "time", "fraction", "density", "rate", "speed", "concentration"
]


class LengthUnit(NamedTuple):
    """A unit of length: its symbol (``ft``), its plural in a sentence (``feet``), and its length. [m]"""

    sign: str
    plural: str
    metres: float


#: text of n eighths of an inch after the whole inches, n from 0 to 7
EIGHTHS = ("", " 1/8", " 1/4", " 3/8", " 1/2", " 5/8", " 3/4", " 7/8")
METRE = LengthUnit("m", "metres", 1.0)
_PLURALS = {
    "meter": "metres", "foot": "feet", "inch": "inches", "yard": "yards", "centimeter": "centimetres",
    "millimeter": "millimetres", "kilometer": "kilometres", "survey_foot": "US survey feet",
}  # fmt: skip


class Measure(NamedTuple):
    """How quantities of one dimension are written.

    Attributes
    ----------
    plain, kernel : str
        Unit of a plain number, and the unit that the kernels take, as pint spells them.
    sign : str
        Symbol of the kernels' unit, in messages.
    name : str
        Of a quantity of that dimension, with its article.
    example : str
        Ways to write one.
    plain_means : str
        What a plain number means and how to give a unit; for messages about a plain number that is too large.
    """

    plain: str
    kernel: str
    sign: str
    name: str
    example: str
    plain_means: str


MEASURES: dict[Dimension, Measure] = {
    "length": Measure(
        "metre", "metre", "m", "a length", '"4 ft", "18 in" or "1.2 m"',
        'a plain number is in the unit of the drawing; give the unit, as in "18 in"',
    ),
    "angle": Measure(
        "degree", "degree", "degrees", "an angle", '"12 degrees" or 12 (degrees)', "a plain number is degrees"
    ),
    "mass": Measure(
        "kilogram", "kilogram", "kg", "a mass", '"90 kg" or 90 (kilograms)',
        'a plain number is kilograms; give the unit, as in "90 lb"',
    ),
    "volume": Measure(
        "litre", "metre ** 3", "m3", "a volume", '"1.5 yd^3", "6 ft^3" or 40 (litres)',
        'a plain number is litres; give the unit, as in "6 ft^3"',
    ),
    "time": Measure(
        "hour", "hour", "h", "a time", '"10 min" or 6 (hours)',
        'a plain number is hours; give the unit, as in "10 min"',
    ),
    "fraction": Measure(
        "dimensionless", "dimensionless", "", "a fraction", '0.3 or "30 %"',
        'a share runs from 0 to 1; or write "20 %"',
    ),
    "density": Measure(
        "kilogram / metre ** 3", "kilogram / metre ** 3", "kg/m3", "a density",
        '"1900 lb/yd^3" or 1200 (kg/m3)', 'a plain number is kg/m3; give the unit, as in "1900 lb/yd^3"',
    ),
    "rate": Measure(
        "metre ** 3 / hour", "metre ** 3 / hour", "m3/h", "a rate", '"1 yd^3/h" or 0.8 (m3/h)',
        'a plain number is m3/h; give the unit, as in "9 L/min"',
    ),
    "speed": Measure(
        "kilometre / hour", "metre / second", "m/s", "a speed", '"2 mph", "3 km/h" or 3 (km/h)',
        'a plain number is km/h; give the unit, as in "2 mph"',
    ),
    "concentration": Measure(
        "ppm", "ppm", "ppm", "a concentration", '150 or "150 mg/kg" (ppm by mass), as a soil test prints it',
        "a plain number is ppm, parts in a million",
    ),
}  # fmt: skip
_NUMBER = r"[+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d+)?"
_QUANTITY = re.compile(rf"\s*({_NUMBER})(?:\s+(\d+)\s*/\s*(\d+)|\s*/\s*(\d+))?\s*(.*?)\s*", re.DOTALL)
_PLAIN = re.compile(rf"\s*{_NUMBER}(?:\s+\d+\s*/\s*\d+|\s*/\s*\d+)?\s*")
_FEET_INCHES = re.compile(
    rf"\s*({_NUMBER})\s*(?:'|′|ft\.?|feet|foot)\s*"
    rf"(?:({_NUMBER})(?:\s+(\d+)\s*/\s*(\d+))?|(\d+)\s*/\s*(\d+))\s*(?:\"|″|''|in\.?|inch|inches)?\s*",
)
_FEET_OR_INCHES = {"'": "foot", "′": "foot", '"': "inch", "″": "inch", "''": "inch"}
# a unit, then others after an operator or a space; each to a power of one digit, so that no text can stack powers
_ONE_UNIT = r"[A-Za-zµ°%][A-Za-zµ°_]*\.?(?:\s*(?:\^|\*\*)\s*-?\d)?"
_UNIT_TEXT = re.compile(rf"{_ONE_UNIT}(?:(?:\s*[*/·]\s*|\s+){_ONE_UNIT}){{0,4}}")


@cache
def registry() -> pint.UnitRegistry[float]:
    """Return the one unit registry; built on first use.

    Pint keeps its definitions in the user's cache folder, which saves 0.3 s in the next runs. Where it cannot write
    there, or a file there was cut off, the definitions are read anew.
    """
    try:
        return pint.UnitRegistry(cache_folder=":auto:")
    except Exception:  # noqa: BLE001 - whatever is wrong with the files of a cache
        return pint.UnitRegistry()


@lru_cache(maxsize=100)
def length_unit(name: str) -> LengthUnit:
    """Return a unit of length by its name; ValueError if there is no such unit.

    Examples
    --------
    >>> length_unit("feet"), length_unit("cm").plural
    (LengthUnit(sign='ft', plural='feet', metres=0.3048), 'centimetres')
    """
    metres = float(f"{si_value(f'1 {name}', 'length'):.12g}")  # a foot is 0.3048 m, however it was converted
    unit = registry().parse_units(_as_pint_reads(name.strip()))
    sign = f"{unit:~}"
    return LengthUnit(sign, _PLURALS.get(str(unit), sign), metres)


def plain_length_means(unit: LengthUnit) -> str:
    """Return in words what a length without a unit means, and how to give one."""
    of_drawing = "" if unit == METRE else ", the unit of the drawing"
    return f'a plain number is {unit.plural}{of_drawing}; give the unit, as in "18 in"'


def is_plain(value: object) -> bool:
    """Return whether a quantity is a number, or the text of one, without a unit."""
    return isinstance(value, int | float) or (isinstance(value, str) and bool(_PLAIN.fullmatch(value)))


def si_value(value: object, dimension: Dimension, *, plain: LengthUnit = METRE) -> float:
    r"""Return a quantity as the float that the kernels take.

    Parameters
    ----------
    value : int, float or str
        A plain number (a length in the unit `plain`; degrees, kilograms, litres, hours), or a number with a unit.
    dimension : str
        ``length``, ``angle``, ``mass``, ``volume``, ``time``, ``fraction``, ``density``, ``rate``, ``speed`` or
        ``concentration`` (by mass).
    plain : LengthUnit
        Of a length without a unit: that of the drawing in whose site it stands.

    Returns
    -------
    float
        Metres, degrees, kilograms, cubic metres, hours, a pure number, kg/m3, m3/h, m/s or ppm.

    Raises
    ------
    ValueError
        If it is no finite quantity of that dimension; the message says what came and what is allowed.

    Examples
    --------
    >>> si_value("18 in", "length")
    0.4572
    >>> round(si_value("5' 6\"", "length"), 4)
    1.6764
    >>> round(si_value(8, "length", plain=length_unit("ft")), 4)
    2.4384
    >>> si_value("9 kg", "length")
    Traceback (most recent call last):
    ...
    ValueError: '9 kg' is a mass, not a length; give a length such as "4 ft", "18 in" or "1.2 m"
    """
    measure = MEASURES[dimension]
    if isinstance(value, bool) or not isinstance(value, (int, float, str)):
        raise _wrong(value, f"is not {measure.name}", dimension)
    if isinstance(value, int) and abs(value) > 1e300:
        raise _wrong(math.copysign(math.inf, 1 if value > 0 else -1), "is not finite", dimension)
    number, unit = (float(value), "") if not isinstance(value, str) else _split(value, dimension)
    try:
        if dimension == "length" and not unit:
            result = number * plain.metres
        else:
            result = _converted(number, unit or measure.plain, measure.kernel)
    except pint.DimensionalityError as error:
        raise _wrong(value, _not_this(unit, dimension), dimension) from error
    if not math.isfinite(result):
        raise _wrong(value, "is not finite", dimension)
    return result


@lru_cache(maxsize=10_000)  # while a site is drawn, the same figures are read many times
def _converted(number: float, unit: str, kernel: str) -> float:
    return float(registry().Quantity(number, unit).to(kernel).magnitude)


def _wrong(value: object, problem: str, dimension: Dimension) -> ValueError:
    """Return the error for a value that is no quantity of the dimension: what it is, and what to give."""
    measure = MEASURES[dimension]
    return ValueError(f"{_shown(value)} {problem}; give {measure.name} such as {measure.example}")


def _split(text: str, dimension: Dimension) -> tuple[float, str]:
    """Return number and unit text of a written quantity."""
    if dimension == "length" and (match := _FEET_INCHES.fullmatch(text)):
        inches, numerator, denominator = float(match[2] or 0), match[3] or match[5], match[4] or match[6]
        if denominator:
            inches += _ratio(text, float(numerator), denominator, dimension)
        return math.copysign(abs(float(match[1])) * 12 + inches, float(match[1])), "inch"  # -0' 6" too
    match = _QUANTITY.fullmatch(text)
    if not match:
        raise _wrong(text, "does not start with a number", dimension)
    number = float(match[1])
    if match[4]:
        number = _ratio(text, number, match[4], dimension)
    elif match[2]:
        number = math.copysign(abs(number) + _ratio(text, float(match[2]), match[3], dimension), number)
    unit = _as_pint_reads(match[5])
    if not unit:
        return number, ""
    try:
        if len(unit) > 60 or not _UNIT_TEXT.fullmatch(unit):
            raise ValueError(unit)
        registry().parse_units(unit)
    except Exception as error:
        comma = "has a comma: write 1.5 for one and a half, 1500 for thousands"
        raise _wrong(text, comma if unit[0] == "," else "has a unit that is not known", dimension) from error
    if (dimension == "fraction" and unit != "percent") or (dimension == "angle" and unit == "percent"):
        raise _wrong(text, _not_this(unit, dimension), dimension)
    return number, unit


def _as_pint_reads(unit: str) -> str:
    """Return a unit as people write it (cu yd, ft3, m²) in pint's spelling."""
    unit = _FEET_OR_INCHES.get(unit, unit).replace("²", "^2").replace("³", "^3").replace("%", "percent")
    unit = re.sub(r"\bcu(?:\.\s*|\s+)", "cubic ", unit)
    unit = re.sub(r"(?<=[A-Za-z])\.(?=$|[\s*/^])", "", unit)  # "4 ft.": the full stop of an abbreviation
    return re.sub(r"(?<=[A-Za-z])([23])(?![0-9])", r"^\1", unit)


def _ratio(text: str, numerator: float, denominator: str, dimension: Dimension) -> float:
    if float(denominator) == 0:
        raise _wrong(text, "divides by zero", dimension)
    return numerator / float(denominator)


def _shown(value: object) -> str:
    shown = repr(value)
    return shown if len(shown) <= 60 else shown[:57] + "..."


#: a unit of each dimension that people may write by mistake, and its name
_NAMES = {
    "metre": "a length", "metre ** 2": "an area", "metre ** 3": "a volume", "kilogram": "a mass", "hour": "a time",
    "metre / second": "a speed", "kilogram / metre ** 3": "a density", "metre ** 3 / second": "a rate",
    "watt": "a power", "joule": "an energy", "newton": "a force", "pascal": "a pressure", "kelvin": "a temperature",
    "kilogram / second": "a mass in a time", "kilogram / metre ** 2": "a mass on an area",
}  # fmt: skip


def _not_this(unit: str, dimension: Dimension) -> str:
    """Return what a quantity of another dimension is, as in ``is a power, not a length``."""
    units, expected = registry(), MEASURES[dimension].name
    parsed = units.parse_units(unit)
    if parsed.dimensionless:
        angle = parsed in {units.degree, units.radian, units.arcminute, units.turn, units.grad}
        return f"is {'an angle' if angle else 'a pure number'}, not {expected}"
    size = parsed.dimensionality
    name = next((name for other, name in _NAMES.items() if units.parse_units(other).dimensionality == size), None)
    return f"is {name}, not {expected}" if name else f"is not {expected}"


def length_text(metres: float, system: System) -> str:
    """Return a length as a person reads it off a tape: to the centimetre, or to half an inch.

    From 10 m on, to 10 cm; from 20 ft on, to a foot; below 1 cm in millimetres; below an inch to a quarter of it.

    Examples
    --------
    >>> length_text(1.676, "imperial"), length_text(0.019, "imperial"), length_text(12.3456, "metric")
    ('5 ft 6 in', '3/4 in', '12.3 m')
    >>> length_text(0.152, "metric"), length_text(0.165, "imperial"), length_text(-0.1, "metric")
    ('15 cm', '6 1/2 in', '-10 cm')
    """
    sign, size = "-" if metres < 0 else "", abs(metres)
    if system == "metric":
        if size >= 0.995:
            return f"{sign}{size:.1f} m" if size >= 9.995 else f"{sign}{size:.2f} m"
        in_cm = size >= 0.0095 or not round(size * 1000)
        return f"{sign}{size * 100:.0f} cm" if in_cm else f"{sign}{size * 1000:.0f} mm"
    quarters = round(size / INCH * 4)
    if quarters >= 4:
        quarters = 2 * round(size / INCH * 2)
    feet, quarters_left = divmod(quarters, 48)
    inches, quarter = divmod(quarters_left, 4)
    fraction = {0: "", 1: "1/4", 2: "1/2", 3: "3/4"}[quarter]
    inch_text = " ".join(part for part in (str(inches) if inches or not fraction else "", fraction) if part)
    if feet >= 20:  # a tape is not read to a quarter inch over twenty feet
        return f"{sign}{size / FOOT:.0f} ft"
    if not feet:
        return f"{sign}{inch_text} in"
    return f"{sign}{feet} ft" if not quarters_left else f"{sign}{feet} ft {inch_text} in"


def tape_mark(metres: float, system: System) -> str:
    """Return a position along a tape, from its zero end: to the centimetre, or to half an inch.

    Examples
    --------
    >>> tape_mark(0.9, "imperial"), tape_mark(0.8333, "metric"), tape_mark(1.6667, "metric")
    ('2 ft 11 1/2 in', '83 cm', '1.67 m')
    """
    step = 0.01 if system == "metric" else INCH / 2
    return length_text(round(metres / step) * step, system)


def volume_text(cubic_metres: float, system: System) -> str:
    """Return a volume as it is bought: litres and cubic metres, or cubic feet and cubic yards.

    Examples
    --------
    >>> volume_text(0.9061, "imperial"), volume_text(0.0378, "imperial"), volume_text(0.0378, "metric")
    ('1.19 yd³', '1.3 ft³', '38 L')
    """
    if system == "metric":
        return f"{cubic_metres * 1000:.0f} L" if abs(cubic_metres) < 0.5 else f"{cubic_metres:.2f} m³"
    if abs(cubic_metres) < 0.5:
        return f"{cubic_metres / CUBIC_FOOT:.1f} ft³"
    return f"{cubic_metres / CUBIC_YARD:.2f} yd³"


def mass_text(kilograms: float, system: System) -> str:
    """Return a mass in kilograms and tonnes, or in pounds.

    Examples
    --------
    >>> mass_text(892.9, "metric"), mass_text(892.9, "imperial"), mass_text(2345, "metric")
    ('893 kg', '1,969 lb', '2.35 t')
    """
    if system == "metric":
        return f"{kilograms:.0f} kg" if kilograms < 1000 else f"{kilograms / 1000:.2f} t"
    return f"{kilograms / POUND:,.0f} lb"


def force_text(newtons: float, system: System) -> str:
    """Return a force as a spring balance shows it: in kilograms, or in pounds.

    Examples
    --------
    >>> force_text(98.0665, "metric"), force_text(98.0665, "imperial")
    ('10 kg', '22 lb')
    """
    kilograms = newtons / GRAVITY
    return f"{kilograms:.0f} kg" if system == "metric" else f"{kilograms / POUND:.0f} lb"


def water_text(cubic_metres: float, system: System) -> str:
    """Return a volume of water in litres or in US gallons.

    Examples
    --------
    >>> water_text(0.0755, "metric"), water_text(0.0755, "imperial"), water_text(0.003, "imperial")
    ('76 L', '20 gal', '0.8 gal')
    """
    size, unit = (cubic_metres * 1000, "L") if system == "metric" else (cubic_metres / GALLON, "gal")
    return f"{size:,.0f} {unit}" if size >= 9.95 else f"{size:.1f} {unit}"


def pressure_text(pascals: float, system: System) -> str:
    """Return a pressure in kilograms per square metre, or in pounds per square foot.

    Examples
    --------
    >>> pressure_text(4788, "metric"), pressure_text(4788, "imperial")
    ('490 kg/m²', '100 lb/ft²')
    """
    if system == "metric":
        return f"{round(pascals / GRAVITY, -1):,.0f} kg/m²"
    return f"{pascals * FOOT**2 / POUND_FORCE:.0f} lb/ft²"
