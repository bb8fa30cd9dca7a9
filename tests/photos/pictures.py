"""Photographs drawn for the tests: no camera took them. `word` makes the bytes of each its own."""

import io

from PIL import Image

PLACE = {1: "N", 2: (59.0, 54.0, 0.0), 3: "E", 4: (10.0, 44.0, 0.0)}  # a latitude and a longitude
GPS, ORIENTATION, MAKER = 0x8825, 0x0112, 0x010F


def strip(width: int = 60, height: int = 40) -> Image.Image:
    """Two webs apart, red above and blue below."""
    image = Image.new("RGB", (width, height), "red")
    image.paste("blue", (0, height // 2, width, height))
    return image


def jpeg(word: str = "", *, turn: int = 1, image: Image.Image | None = None) -> bytes:
    """A JPEG as cameras write it: with their maker, the place, and how it is to be turned."""
    exif = Image.Exif()
    exif[MAKER], exif[ORIENTATION] = "Bench camera", turn
    exif[GPS] = PLACE
    out = io.BytesIO()
    (image or strip()).save(out, "JPEG", exif=exif, comment=f"a camera's comment {word}", quality=95)
    return out.getvalue()


def png(word: str = "", *, image: Image.Image | None = None) -> bytes:
    """A PNG; the word stands behind its end, where no decoder looks."""
    out = io.BytesIO()
    (image or strip()).save(out, "PNG")
    return out.getvalue() + word.encode()


def opened(content: bytes) -> Image.Image:
    """A picture decoded again."""
    image = Image.open(io.BytesIO(content))
    image.load()
    return image
