"""How is the body of a request read, within limits of size and depth?

JSON of at most 8 MB, pictures of at most 25 MB, whole or in chunks. `request_values` checks the values in it.
"""

from __future__ import annotations

import json
import math
from typing import Any, NoReturn

from starlette.requests import ClientDisconnect, Request

from siteplan.land.errors import Fault, InputError

MOST_JSON = 8_000_000  # bytes
MOST_PICTURE = 25_000_000  # bytes
DEEPEST = 40  # levels of nested lists and objects; a drawing needs about ten


class TooLargeError(InputError):
    """A body is longer than the limit."""


async def body(request: Request, most: int) -> bytes:
    """Return a request's body.

    Parameters
    ----------
    request : Request
    most : int
        The most bytes that are read.

    Raises
    ------
    TooLargeError
        As soon as the body is longer, whatever its Content-Length header said.
    """
    content_length = request.headers.get("content-length", "")
    if content_length.isdecimal() and (len(content_length) > 12 or int(content_length) > most):
        _too_large(most)
    parts: list[bytes] = []
    length = 0
    try:
        async for part in request.stream():
            length += len(part)
            if length > most:
                _too_large(most)
            parts.append(part)
    except ClientDisconnect:
        _refuse("it broke off")
    return b"".join(parts)


async def json_body(request: Request) -> dict[str, Any]:
    """Return a request's JSON object, or raise what is wrong with it."""
    kind = request.headers.get("content-type", "").partition(";")[0].strip().lower()
    if kind != "application/json":
        _refuse(f"it is of the type {kind[:60] or 'none'!r}, must be application/json")
    return json_object(await body(request, MOST_JSON))


def json_object(content: bytes) -> dict[str, Any]:
    """Return the object that some JSON holds.

    Raises
    ------
    InputError
        If it is not JSON, not an object, nested too deeply, or holds NaN or an infinite number.

    Examples
    --------
    >>> json_object(b'{"at": [1, 2.5]}')
    {'at': [1, 2.5]}
    >>> json_object(b'{"at": NaN}')
    Traceback (most recent call last):
    ...
    siteplan.land.errors.InputError: request: NaN is not a number
    """
    try:
        document = json.loads(content.decode("utf-8"), parse_constant=_no_number, parse_float=_finite)
    except RecursionError:
        _refuse(f"it is nested more than {DEEPEST} deep")
    except UnicodeDecodeError:
        _refuse("its letters are not UTF-8")
    except ValueError as error:
        _refuse(f"it is no JSON: {str(error)[:100]}")
    if not isinstance(document, dict):
        _refuse("it must be a JSON object")
    if _deeper(document, DEEPEST):
        _refuse(f"it is nested more than {DEEPEST} deep")
    return document


def _deeper(value: object, most: int) -> bool:
    """Return whether a value is nested more than `most` levels deep."""
    if isinstance(value, dict):
        value = list(value.values())
    entries = value if isinstance(value, list) else []
    return any(most <= 1 or _deeper(entry, most - 1) for entry in entries if isinstance(entry, dict | list))


def _finite(text: str) -> float:
    value = float(text)
    if not math.isfinite(value):
        _refuse(f"{text[:20]} is too large a number")
    return value


def _no_number(text: str) -> NoReturn:
    _refuse(f"{text} is not a number")


def _refuse(reason: str) -> NoReturn:
    raise InputError([Fault("request", "", reason)])


def _too_large(most: int) -> NoReturn:
    raise TooLargeError([Fault("request", "", f"is larger than {most // 1_000_000} MB, which is the most")])
