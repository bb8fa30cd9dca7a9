"""Photographs: decoded to see that they are what they say, and drawn again, small, upright, without a camera's notes.

The bytes that came are kept elsewhere as they are. Here the picture that people are shown is made from them.
"""

import io
from dataclasses import dataclass

from PIL import Image

from labrecords.rules.photograph import MOST_BYTES, MOST_PIXELS

from .documents import media_type

LONGEST = 1600  # pixels of the shown picture's longer side
FORMATS = {"image/jpeg": ("JPEG", "MPO"), "image/png": ("PNG",)}  # a JPEG of several pictures is MPO: its first counts
ORIENTATION = 0x0112  # EXIF 2.32, 4.6.4 A: how the picture is to be turned to stand upright
TURNS = {
    2: Image.Transpose.FLIP_LEFT_RIGHT,
    3: Image.Transpose.ROTATE_180,
    4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE,
    6: Image.Transpose.ROTATE_270,
    7: Image.Transpose.TRANSVERSE,
    8: Image.Transpose.ROTATE_90,
}
LYING = (5, 6, 7, 8)
WANTED = "Send a photograph as JPEG or PNG, under a name that ends so."


class NotAPhotograph(Exception):
    """The bytes are no photograph that can be kept. The text says why and what to do."""


@dataclass(frozen=True)
class Picture:
    """A photograph that was decoded: its kind, its size upright in pixels, and the picture to show, as JPEG."""

    media_type: str
    width: int
    height: int
    shown: bytes


def read(name: str, content: bytes) -> Picture:
    """Decode a photograph. Raises NotAPhotograph."""
    if len(content) > MOST_BYTES:
        raise NotAPhotograph(f"It has {len(content) / 1e6:.0f} MB; the most is {MOST_BYTES / 1e6:.0f} MB.")
    kind = media_type(name, content)
    if kind not in FORMATS:
        raise NotAPhotograph(f"{name} does not begin as a JPEG or a PNG of that name does. {WANTED}")
    try:
        with Image.open(io.BytesIO(content), formats=("JPEG", "PNG")) as image:
            return _drawn(image, kind)
    except NotAPhotograph:
        raise
    except (Image.DecompressionBombError, Image.DecompressionBombWarning) as bomb:
        raise _too_many() from bomb
    except Exception as broken:  # bytes made to harm may raise anything in a decoder, and none of it is a fault of ours
        raise NotAPhotograph(f"{name} cannot be decoded: it is damaged or no picture. Take it again.") from broken


def _drawn(image: Image.Image, kind: str) -> Picture:
    width, height = image.size
    if width * height > MOST_PIXELS:  # read in the header, before anything is decoded
        raise _too_many()
    if image.format not in FORMATS[kind]:
        raise NotAPhotograph(f"What is inside is {image.format}, not what the first bytes say. {WANTED}")
    turn = image.getexif().get(ORIENTATION, 1)
    small = _small(image)
    if turn in TURNS:
        small = small.transpose(TURNS[turn])
    small.info.clear()  # comments and colour tables of the camera would be written again
    out = io.BytesIO()
    small.save(out, "JPEG", quality=85)
    upright = (height, width) if turn in LYING else (width, height)
    return Picture(kind, *upright, out.getvalue())


def _small(image: Image.Image) -> Image.Image:
    if image.mode.startswith("I"):  # greys of 16 bits would all be cut off at white
        image.load()
        image = image.convert("I").point(lambda grey: grey / 256).convert("L")
    image.thumbnail((LONGEST, LONGEST))
    return image.convert("RGB")


def _too_many() -> NotAPhotograph:
    most = MOST_PIXELS // 1_000_000
    return NotAPhotograph(f"It has more than {most} million pixels. Take it with fewer, or cut it out and send that.")
