"""How is a picture's file read and written anew as plain pixels, without metadata?

PNG, JPEG and WebP of a bounded size, turned upright by their EXIF orientation. The place, the day and whatever else a
camera adds are not kept.
"""

from __future__ import annotations

import io
import struct
import warnings
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal, NoReturn

import numpy as np

from siteplan.land.errors import Fault, InputError

if TYPE_CHECKING:
    from PIL import Image

MOST_BYTES = 25_000_000
MOST_PIXELS = 60_000_000  # 240 MB of memory; a phone's camera has 12 to 50 million
LEAST_SIDE = 16  # pixels
LONGEST_SIDE = 4096  # pixels that are kept
LARGEST_PNG = 6_000_000  # bytes; a larger one is a photo, and is kept as JPEG
QUALITY = 88  # of JPEG and WebP
_FORMATS = ("PNG", "JPEG", "WEBP")
_ENDINGS = {
    "png": "PNG", "jpg": "JPEG", "jpeg": "JPEG", "jfif": "JPEG", "webp": "WEBP", "tif": "TIFF", "tiff": "TIFF",
    "heic": "HEIC", "heif": "HEIC",
}  # fmt: skip
_BROKEN = (
    OSError, ValueError, SyntaxError, EOFError, IndexError, KeyError, TypeError, OverflowError, struct.error,
    zlib.error, AssertionError, AttributeError, MemoryError,
)  # fmt: skip  # what Pillow raises for damaged files
_ORIENTATION = 0x0112  # EXIF: how the camera was held


@dataclass(frozen=True, eq=False)
class Picture:
    """A picture as it is stored.

    Attributes
    ----------
    content : bytes
        Of the new file.
    ending : str
        ``png`` or ``jpg``.
    width, height : int
        [pixels]
    shrunk : float
        Its width over that of the picture that was given; at most 1.
    notes : tuple of str
        Codes for what was changed: ``turned``, ``shrunk``, ``first-frame``, ``named-otherwise``, ``place-removed``.
    """

    content: bytes
    ending: Literal["png", "jpg"]
    width: int
    height: int
    shrunk: float
    notes: tuple[str, ...]


def read_picture(content: bytes, name: str) -> Picture:
    """Return a picture as it is stored, from the bytes of a file.

    Parameters
    ----------
    content : bytes
        Of the file. Its format is found from these bytes, never from its name.
    name : str
        The file's name, for messages.

    Raises
    ------
    InputError
        If it is too large, damaged, or not in a format that is read.
    """
    if len(content) > MOST_BYTES:
        _refuse(name, f"is larger than {MOST_BYTES // 1_000_000} MB; make it smaller, or send a photo of it")
    image, kind = _opened(content, name)
    notes = ["named-otherwise"] if _ENDINGS.get(name.rpartition(".")[2].lower(), kind) != kind else []
    if getattr(image, "n_frames", 1) > 1 and image.format != "MPO":
        notes.append("first-frame")
    width, height = image.size
    if width * height > MOST_PIXELS:
        limit = f"must be at most {MOST_PIXELS / 1e6:.0f} million"
        _refuse(name, f"has {width:,} x {height:,} pixels, {limit}; save it smaller")
    if min(width, height) < LEAST_SIDE:
        _refuse(name, f"has {width:,} x {height:,} pixels, must have at least {LEAST_SIDE} on each side")
    try:
        with warnings.catch_warnings(), _truncated_refused():
            warnings.simplefilter("ignore")  # of odd metadata, which is not kept
            tags = image.getexif()
            notes += _notes_of(tags)
            if kind == "JPEG":
                image.draft(None, (LONGEST_SIDE, LONGEST_SIDE))  # a large photo is decoded at a smaller scale
            plain = _upright(_bare_pixels(image), int(tags.get(_ORIENTATION, 1) or 1))
    except _BROKEN as error:
        _refuse(name, f"is damaged ({_why(error)}); open it in any program for pictures and save it anew")
    return _stored(plain, kind, max(width, height), notes)


@contextmanager
def _truncated_refused() -> Iterator[None]:
    """Make Pillow refuse truncated pictures, though the PDF library sets it to accept them."""
    from PIL import ImageFile

    before, ImageFile.LOAD_TRUNCATED_IMAGES = ImageFile.LOAD_TRUNCATED_IMAGES, False
    try:
        yield
    finally:
        ImageFile.LOAD_TRUNCATED_IMAGES = before


def from_pixels(pixels: np.ndarray, *, photo: bool) -> Picture:
    """Return a picture as it is stored, from its pixels: bytes, shape (rows, columns, 3 or 4)."""
    from PIL import Image

    return _stored(Image.fromarray(pixels), "JPEG" if photo else "PNG", max(pixels.shape[:2]), [])


def _opened(content: bytes, name: str) -> tuple[Image.Image, str]:
    """Return the picture in a file's bytes, of which only the header is read yet, and its format."""
    from PIL import Image, UnidentifiedImageError

    try:
        with warnings.catch_warnings(), _truncated_refused():
            warnings.simplefilter("ignore", Image.DecompressionBombWarning)  # the caller checks its size
            image = Image.open(io.BytesIO(content), formats=_FORMATS)
    except UnidentifiedImageError:
        _refuse(name, f"is {_what(content)}; save it as PNG, JPEG or WebP")
    except Image.DecompressionBombError:
        _refuse(name, f"unfolds to more than {MOST_PIXELS / 1e6:.0f} million pixels; save it smaller")
    except _BROKEN as error:
        _refuse(name, f"is damaged ({_why(error)}); open it in any program for pictures and save it anew")
    return image, "JPEG" if image.format == "MPO" else str(image.format)


def _what(content: bytes) -> str:
    """Return in words what a file is that is in no format read here."""
    if content[4:8] == b"ftyp":
        return "a HEIC photo or a film, which are not read here"
    marks = {
        b"GIF8": "a GIF", b"BM": "a BMP", b"%PDF": "a PDF", b"<": "a drawing or a page in XML", b"PK": "a ZIP file",
        b"II*\x00": "a TIFF without a place", b"MM\x00*": "a TIFF without a place", b"8BPS": "a PSD",
    }  # fmt: skip
    format_name = next((words for mark, words in marks.items() if content.startswith(mark)), "")
    return f"{format_name}, which is not read here" if format_name else "no picture"


def _why(error: BaseException) -> str:
    text = " ".join(str(error).split()) or type(error).__name__
    return "".join(letter for letter in text if letter.isprintable())[:80]


def _notes_of(tags: Image.Exif) -> list[str]:
    from PIL import ExifTags

    return ["place-removed"] if ExifTags.IFD.GPSInfo in tags else []


def _bare_pixels(image: Image.Image) -> Image.Image:
    """Return a picture in mode L, RGB or RGBA, without metadata."""
    from PIL import Image

    if image.mode in {"I", "I;16", "I;16B", "I;16L", "F"}:
        deep = np.asarray(image, dtype=np.float64)
        most = 65535.0 if deep.size and deep.max() > 255 else 255.0
        return Image.fromarray((np.clip(deep, 0, most) * (255 / most)).astype(np.uint8))
    if image.mode in {"RGBA", "LA", "PA", "RGBa", "La"} or "transparency" in image.info:
        mode = "RGBA"
    else:
        mode = "L" if image.mode in {"1", "L"} else "RGB"
    converted = image.convert(mode)
    if mode == "RGBA" and converted.getchannel("A").getextrema() == (255, 255):  # nothing shows through
        converted = converted.convert("RGB")
    bare = Image.new(converted.mode, converted.size)
    bare.paste(converted)
    return bare


def _upright(image: Image.Image, orientation: int) -> Image.Image:
    """Return a picture turned as the camera was held; EXIF 2.32, tag Orientation."""
    from PIL import Image

    step = Image.Transpose
    transposes = {
        2: step.FLIP_LEFT_RIGHT, 3: step.ROTATE_180, 4: step.FLIP_TOP_BOTTOM, 5: step.TRANSPOSE, 6: step.ROTATE_270,
        7: step.TRANSVERSE, 8: step.ROTATE_90,
    }  # fmt: skip
    return image.transpose(transposes[orientation]) if orientation in transposes else image


def _stored(image: Image.Image, kind: str, longest: int, notes: list[str]) -> Picture:
    """Return a picture shrunk to the longest side that is kept, as PNG or JPEG."""
    from PIL import Image

    if max(image.size) > LONGEST_SIDE:
        image.thumbnail((LONGEST_SIDE, LONGEST_SIDE), Image.Resampling.LANCZOS)
    width, height = image.size
    shrunk = max(width, height) / longest
    png = kind == "PNG" or image.mode == "RGBA"
    content = _written(image, "PNG") if png else b""
    if not png or (len(content) > LARGEST_PNG and image.mode != "RGBA"):
        content, png = _written(image, "JPEG"), False
    codes = (*notes, *(["shrunk"] if shrunk < 0.999 else []))
    return Picture(content, "png" if png else "jpg", width, height, min(shrunk, 1.0), codes)


def _written(image: Image.Image, kind: Literal["PNG", "JPEG"]) -> bytes:
    buffer = io.BytesIO()
    image.save(buffer, kind, quality=QUALITY) if kind == "JPEG" else image.save(buffer, kind)
    return buffer.getvalue()


def _refuse(name: str, text: str) -> NoReturn:
    raise InputError([Fault(name, "", text)])
