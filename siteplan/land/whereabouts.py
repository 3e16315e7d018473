"""Which place on earth does a typed or pasted text name?

Latitude and longitude as decimals, degrees and minutes, or degrees, minutes and seconds; as a string of ISO 6709, or
as a geo: address. A text that can be read in two ways is refused, with advice on what to write. Names of towns are
looked up in `files/towns.py`.
"""

from __future__ import annotations

import itertools
import math
import re
import unicodedata
from dataclasses import dataclass
from typing import Literal, NamedTuple

from siteplan.land.values import shown

Axis = Literal["latitude", "longitude"]

LONGEST = 200  # characters; a pair of coordinates has thirty
METRES_PER_DEGREE = 111_320.0  # m along a meridian, to a third of a per cent
EXAMPLE = "write it as 41.352, -92.204 or 41°21'07\"N 92°12'14\"W"
_SAME = {
    "'": "ʹ′‘’‛´`ʼꞌ＇‵", '"': "ʺ″“”„‟˝＂‶", "°": "º˚ᵒ∘⁰", "-": "−–—‐‑‒﹣－", "+": "＋", ",": "，،", ";": "；",
}  # fmt: skip
_LETTERS = str.maketrans({letter: plain for plain, look_alikes in _SAME.items() for letter in look_alikes})
_WORDS = {
    "n": "N", "north": "N", "s": "S", "south": "S", "e": "E", "east": "E", "w": "W", "west": "W",
    "lat": "latitude", "latitude": "latitude", "lon": "longitude", "long": "longitude", "lng": "longitude",
    "longitude": "longitude", "deg": "°", "degree": "°", "degrees": "°", "d": "°", "min": "'", "minute": "'",
    "minutes": "'", "m": "'", "sec": '"', "second": '"', "seconds": '"', "and": ",",
}  # fmt: skip
_HEMISPHERE: dict[str, tuple[Axis, int]] = {
    "N": ("latitude", 1), "S": ("latitude", -1), "E": ("longitude", 1), "W": ("longitude", -1),
}  # fmt: skip
_MOST = {"latitude": 90.0, "longitude": 180.0}
_NUMBER = r"\d+(?:\.\d*)?|\.\d+"
_TOKEN = re.compile(rf"\s*(?:(?P<number>[+-]?\s?(?:{_NUMBER}))|(?P<word>[A-Za-z]+)|(?P<sign>[°'\",;/|]))\s*")
_ISO_6709 = re.compile(
    r"([+-])(\d\d|\d{4}|\d{6})(\.\d+)?([+-])(\d{3}|\d{5}|\d{7})(\.\d+)?(?:[+-]\d+(?:\.\d+)?)?(?:CRS\w+)?/?"
)
_GEO = re.compile(
    r"geo:(-?\d+(?:\.\d+)?),(-?\d+(?:\.\d+)?)(?:,-?\d+(?:\.\d+)?)?((?:;[\w-]+(?:=[^;]*)?)*)", re.IGNORECASE
)
_OTHERS = (
    (re.compile(r"[a-z]+://|www\.", re.IGNORECASE), "is a link; paste only the two numbers in it"),
    (
        re.compile(r"[23456789CFGHJMPQRVWX]{2,8}\+[23456789CFGHJMPQRVWX]{2,3}\b", re.IGNORECASE),
        "is a plus code, which is not read here",
    ),
    (
        re.compile(r"\d{1,2} ?[C-HJ-NP-X] ?[A-HJ-NP-Z]{2} ?\d{1,5} ?\d{1,5}$", re.IGNORECASE),
        "is a reference on the military grid, which is not read here",
    ),
    (
        re.compile(r"(?:utm\b.*|\d{1,2}\s*[A-Z]\s+(?:\d{6,7}(?:\.\d*)?m?\s*[EN]?[\s,]*){2})", re.IGNORECASE),
        "is in UTM, which is not read here",
    ),
)


@dataclass(frozen=True)
class Whereabouts:
    """A place on earth.

    Attributes
    ----------
    latitude, longitude : float
        North and east positive. [degrees, WGS 84]
    step_m : float
        Length on the ground of one unit of the last digit; the coarser of the two coordinates. [m]
    order : str
        How latitude and longitude were told apart: ``written`` by their letters, names or form; ``range`` if only one
        of them can be a latitude; ``assumed`` if both can be, and the latitude is taken to come first.
    """

    latitude: float
    longitude: float
    step_m: float
    order: Literal["written", "range", "assumed"]


class _Token(NamedTuple):
    sort: Literal["number", "axis", "hemisphere", "unit", "break"]
    text: str


class _Angle(NamedTuple):
    """One coordinate: its axis if the text names it, its value, and the size of its last digit. [degrees]"""

    axis: Axis | None
    value: float
    step: float


def read_whereabouts(text: str) -> Whereabouts:
    """Return the place that a text names.

    Parameters
    ----------
    text : str
        Latitude and longitude in any common form; signs may be primes, quotes, or left out.

    Raises
    ------
    ValueError
        If it names none, or can be read in two ways; the message says what to write.

    Examples
    --------
    >>> read_whereabouts("41.352, -92.204")
    Whereabouts(latitude=41.352, longitude=-92.204, step_m=111.32, order='range')
    >>> here = read_whereabouts("41°21'N 92°12'W")
    >>> here.latitude, here.longitude, round(here.step_m), here.order
    (41.35, -92.2, 1855, 'written')
    >>> read_whereabouts("N 41 21.12  W 92 12.24").latitude == read_whereabouts("41,352 -92,204").latitude
    True
    >>> read_whereabouts("41.5 O 92.5")
    Traceback (most recent call last):
    ...
    ValueError: 'O' is east in German and west in French and Spanish; write E or W

    References
    ----------
    ISO 6709:2008, Standard representation of geographic point location by coordinates, annexes D and H.
    RFC 5870 (2010), A Uniform Resource Identifier for Geographic Locations.
    """
    if len(text) > LONGEST:
        raise ValueError(f"the text is {len(text)} characters long, must be at most {LONGEST}; {EXAMPLE}")
    plain = _plain(text)
    if not plain:
        raise ValueError(f"nothing was written; {EXAMPLE}")
    if (match := _GEO.fullmatch(plain)) is not None:
        return _from_address(match)
    if (match := _ISO_6709.fullmatch(plain.replace(",", "."))) is not None:
        angles = [_packed(match[1], match[2], match[3], 2), _packed(match[4], match[5], match[6], 3)]
        return _place(_Angle("latitude", *angles[0]), _Angle("longitude", *angles[1]), text)
    for form, reason in _OTHERS:
        if form.match(plain):
            raise ValueError(f"{shown(text)} {reason}; {EXAMPLE}")
    first_tokens, second_tokens = _halves(_tokens(_with_points(plain, text), text), text)
    return _place(_angle(first_tokens, text), _angle(second_tokens, text), text)


def _plain(text: str) -> str:
    """Return a text with look-alike signs (primes, dashes, quotes) unified, and digits of every script as 0 to 9."""
    letters = text.strip().translate(_LETTERS)
    visible = (letter for letter in letters if unicodedata.category(letter) not in {"Cf", "Cc"})
    digits = (str(unicodedata.decimal(letter, letter)) for letter in visible)
    spaced = "".join(" " if letter.isspace() else letter for letter in digits)
    return spaced.replace("''", '"').strip(" .;,()[]{}<>").strip()


def _from_address(match: re.Match[str]) -> Whereabouts:
    """Return the place of a geo: address."""
    for parameter in match[3].lower().split(";"):
        if parameter.startswith("crs=") and parameter != "crs=wgs84":
            raise ValueError(
                f"the geo: address is in {shown(parameter[4:])}, must be in wgs84, which is what it has without crs="
            )
    latitude, longitude = (_Angle(None, float(number), _last_digit(number)) for number in (match[1], match[2]))
    return _place(latitude._replace(axis="latitude"), longitude._replace(axis="longitude"), match[0])


def _packed(sign: str, digits: str, decimals: str | None, degrees: int) -> tuple[float, float]:
    """Return value and size of the last digit of a coordinate in ISO 6709: DD, DDMM or DDMMSS. [degrees]"""
    fields = [digits[:degrees], *(digits[start : start + 2] for start in range(degrees, len(digits), 2))]
    numbers = [*fields[:-1], fields[-1] + (decimals or "")]
    return _summed(-1 if sign == "-" else 1, numbers)


def _summed(sign: int, numbers: list[str]) -> tuple[float, float]:
    """Return degrees, minutes and seconds as degrees, and the size of the last digit. [degrees]"""
    for name, number in zip(("minutes", "seconds"), numbers[1:], strict=False):
        if float(number) >= 60:
            raise ValueError(f"{number} {name} cannot be, must be below 60; {EXAMPLE}")
    value = sum(float(number) / 60**place for place, number in enumerate(numbers))
    return sign * value, _last_digit(numbers[-1]) / 60 ** (len(numbers) - 1)


def _last_digit(number: str) -> float:
    return float(10.0 ** -len(number.partition(".")[2]))


def _with_points(plain: str, text: str) -> str:
    """Return a text with decimal points for decimal commas: a comma then only separates the two coordinates."""
    inside = re.findall(r"(?<=\d),(?=\d)", plain)
    if "." in plain or not inside:
        return plain
    if len(inside) == 1 and len(re.findall(r"\d+", plain)) == 2:
        return plain  # "41,92": two whole numbers
    pairs = re.fullmatch(r"(\d+),(\d+),(\d+),(\d+)", plain)
    if pairs is None:
        return re.sub(r"(?<=\d),(?=\d)", ".", plain)
    if max(len(pairs[2]), len(pairs[4])) < 3:
        raise ValueError(f"{shown(text)} can be decimals or minutes; {EXAMPLE}")
    return f"{pairs[1]}.{pairs[2]}, {pairs[3]}.{pairs[4]}"


def _tokens(plain: str, text: str) -> list[_Token]:
    """Return the numbers, signs and letters of a text in order."""
    hemispheres = re.findall(r"(?<![a-z])(?:[nsew]|north|south|east|west)(?![a-z])", plain, re.IGNORECASE)
    if len(hemispheres) == 2:
        plain = re.sub(r"(?<=\d)-(?=\d)", " ", plain)  # 41-21-07N 092-12-14W
    plain = re.sub(r"(?<=[A-Za-z\d'\"])\s*[:=](?=[\s\d+.-])", " ", plain)  # 41:21:07, lat: 41.352
    tokens, start = [], 0
    while start < len(plain):
        match = _TOKEN.match(plain, start)
        if match is None:
            raise ValueError(f"{shown(text)} is no latitude and longitude; {EXAMPLE}")
        tokens.append(_token(match, text))
        start = match.end()
    return tokens


def _token(match: re.Match[str], text: str) -> _Token:
    if match["number"]:
        return _Token("number", match["number"].replace(" ", ""))
    if match["word"]:
        word = match["word"].lower()
        if word == "o":
            raise ValueError("'O' is east in German and west in French and Spanish; write E or W")
        if word not in _WORDS:
            raise ValueError(f"{shown(match['word'])} in {shown(text)} is not understood; {EXAMPLE}")
        sign = _WORDS[word]
    else:
        sign = match["sign"]
    if sign in _HEMISPHERE:
        return _Token("hemisphere", sign)
    if sign in _MOST:
        return _Token("axis", sign)
    return _Token("unit", sign) if sign in {"°", "'", '"'} else _Token("break", sign)


def _halves(tokens: list[_Token], text: str) -> tuple[list[_Token], list[_Token]]:
    """Return the tokens of the first and of the second coordinate."""
    tokens = _seconds_not_south(tokens)
    breaks = [place for place, token in enumerate(tokens) if token.sort == "break"]
    if len(breaks) > 1:
        raise ValueError(
            f"{shown(text)} has {len(breaks) + 1} parts, must have two: latitude and longitude; {EXAMPLE}"
        )
    if breaks:
        return tokens[: breaks[0]], tokens[breaks[0] + 1 :]
    second_begins = _second_begins(tokens)
    if second_begins is None:
        raise ValueError(f"{shown(text)} is not two numbers: a latitude and a longitude; {EXAMPLE}")
    return tokens[:second_begins], tokens[second_begins:]


def _seconds_not_south(tokens: list[_Token]) -> list[_Token]:
    """Return the tokens with an ``s`` as seconds where a hemisphere follows it, as in ``41d 21m 7s N``."""
    result = list(tokens)
    for place in range(2, len(tokens) - 1):
        minutes, number, token, behind = tokens[place - 2 : place + 2]
        seconds = minutes == ("unit", "'") and number.sort == "number" and behind.sort == "hemisphere"
        if seconds and token == ("hemisphere", "S"):
            result[place] = _Token("unit", '"')
    return result


def _second_begins(tokens: list[_Token]) -> int | None:
    """Return the index of the first token of the second coordinate, None if that is unclear."""
    for sort in ("axis", "hemisphere"):
        marks = [place for place, token in enumerate(tokens) if token.sort == sort]
        if len(marks) == 2:
            return marks[1] if marks[0] == 0 else marks[0] + 1
    numbers = [place for place, token in enumerate(tokens) if token.sort == "number"]
    signed = [place for place in numbers[1:] if tokens[place].text[0] in "+-"]
    degrees = [place - 1 for place, token in enumerate(tokens) if token == ("unit", "°")]
    if len(signed) == 1:
        return signed[0]
    if len(degrees) == 2:
        return degrees[1]
    return numbers[len(numbers) // 2] if len(numbers) in {2, 4, 6} else None


def _angle(tokens: list[_Token], text: str) -> _Angle:
    """Return one coordinate from its tokens."""
    numbers, hemispheres, axes = (_texts(tokens, sort) for sort in ("number", "hemisphere", "axis"))
    counts_fit = 1 <= len(numbers) <= 3 and len(hemispheres) <= 1 and len(axes) <= 1
    if not counts_fit or not _units_in_order(tokens, len(numbers)):
        raise ValueError(f"{shown(text)} is no latitude and longitude; {EXAMPLE}")
    if any("." in number for number in numbers[:-1]):
        raise ValueError(f"{shown(text)} has a fraction before the last number of a coordinate; {EXAMPLE}")
    if any(number[0] in "+-" for number in numbers[1:]):
        raise ValueError(f"{shown(text)} has a sign within a coordinate, must have it in front; {EXAMPLE}")
    axis, sign = _HEMISPHERE[hemispheres[0]] if hemispheres else (axes[0] if axes else None, 1)
    if numbers[0][0] == "-":
        if hemispheres:
            raise ValueError(f"{shown(text)} has a minus and the letter {hemispheres[0]}; leave one of them out")
        sign = -1
    value, step = _summed(sign, [number.lstrip("+-") for number in numbers])
    if axes and axes[0] != axis:
        raise ValueError(f"{shown(text)} has a {axes[0]} with the letter {hemispheres[0]}, which cannot be")
    return _Angle(axis, value, step)  # type: ignore[arg-type]


def _texts(tokens: list[_Token], sort: str) -> list[str]:
    return [token.text for token in tokens if token.sort == sort]


def _units_in_order(tokens: list[_Token], number_count: int) -> bool:
    """Return whether degrees, minutes and seconds come in this order, each behind a number, with nothing between."""
    pairs = itertools.pairwise(tokens)
    units = [token.text for before, token in pairs if (before.sort, token.sort) == ("number", "unit")]
    in_order = units == ["°", "'", '"'][: len(units)] and len(units) == len(_texts(tokens, "unit"))
    in_order &= all(token.sort in {"number", "unit"} for token in _without_names(tokens))
    return in_order and len(units) <= number_count


def _without_names(tokens: list[_Token]) -> list[_Token]:
    """Return the tokens without the axis and the hemisphere that may stand in front of the numbers or behind."""
    names = [token.sort in {"axis", "hemisphere"} for token in tokens]
    start, stop = 0, len(tokens)
    while start < stop and names[start]:
        start += 1
    while stop > start and names[stop - 1]:
        stop -= 1
    return tokens[start:stop]


def _place(first: _Angle, second: _Angle, text: str) -> Whereabouts:
    """Return the place of two coordinates, told apart by what they say, else by their range, else by their order."""
    if first.axis is not None and first.axis == second.axis:
        raise ValueError(f"{shown(text)} has two of {first.axis}, must have a latitude and a longitude")
    order: Literal["written", "range", "assumed"] = "written"
    is_swapped = first.axis == "longitude" or second.axis == "latitude"
    if first.axis is None and second.axis is None:
        is_swapped = abs(first.value) > _MOST["latitude"] >= abs(second.value)
        order = "range" if is_swapped or abs(second.value) > _MOST["latitude"] else "assumed"
    latitude, longitude = (second, first) if is_swapped else (first, second)
    for axis, angle in (("latitude", latitude), ("longitude", longitude)):
        if not abs(angle.value) <= _MOST[axis]:
            limit = f"{_MOST[axis]:.0f}"
            raise ValueError(f"{axis} is {angle.value:.10g} degrees, must be from -{limit} to {limit}; {EXAMPLE}")
    east = longitude.step * math.cos(math.radians(latitude.value))
    step = METRES_PER_DEGREE * max(latitude.step, east)
    return Whereabouts(round(latitude.value, 9) + 0.0, round(longitude.value, 9) + 0.0, round(step, 3), order)
