"""Photographs of the demo: drawn, no camera took them, and they say so. The two halves of a strip beside a rule."""

import io
import pathlib

import numpy as np
from PIL import Image, ImageDraw, ImageFont

SIZE = (1280, 860)
MM = 16  # pixels a millimetre
BENCH, FILM, WEB, COATING, INK = "#3f4748", "#9fb8bd", "#e9e4d8", "#fbfaf4", "#1c2526"
TOP, BELOW, SEAL, LONG = 190, 60, 10 * MM, 34 * MM
FONT = pathlib.Path(__file__).resolve().parents[3] / "static" / "fonts" / "ttf" / "SourceSans3-Regular.ttf"


def drawn(*, label: str, kind: str, modes: tuple[str, ...], width_mm: float, seed: int) -> bytes:
    """A JPEG of a strip that was pulled apart as `kind` and `modes` say; the same seed gives the same picture."""
    rng = np.random.default_rng(seed)
    image = Image.new("RGB", SIZE, BENCH)
    pen = ImageDraw.Draw(image)
    wide = round(width_mm * MM)
    for place, left, sheet in ((0, 120, FILM), (1, 700, WEB)):
        _web(pen, left, wide, sheet, torn=kind == "tear" and place == 0, rng=rng)
        _seal(pen, left, wide, covered=_covered(modes, place), rng=rng)
    _rule(pen)
    _words(pen, label)
    noisy = np.asarray(image, dtype=float) + rng.normal(0, 4, (*SIZE[::-1], 1))
    out = io.BytesIO()
    Image.fromarray(noisy.clip(0, 255).astype("uint8")).save(out, "JPEG", quality=88)
    return out.getvalue()


def _covered(modes: tuple[str, ...], place: int) -> float:
    """The share of the seal on which a half keeps the coating: all or nothing, or part on each where it split."""
    if "CO" in modes:
        return 0.65 if place == 0 else 0.35
    return 1.0 if place == 0 else 0.0


def _web(pen: ImageDraw.ImageDraw, left: int, wide: int, sheet: str, *, torn: bool, rng: np.random.Generator) -> None:
    bottom = TOP + (BELOW + SEAL + 40 if torn else LONG)
    edge = [(left + wide * step / 12, bottom + (rng.uniform(-26, 26) if torn else 0)) for step in range(12, -1, -1)]
    pen.polygon([(left, TOP), (left + wide, TOP), *edge], fill=sheet, outline=INK)


def _seal(pen: ImageDraw.ImageDraw, left: int, wide: int, *, covered: float, rng: np.random.Generator) -> None:
    """The band of the seal: patches of coating where the half keeps it, the bare web elsewhere."""
    pen.rectangle((left + 1, TOP + BELOW, left + wide - 1, TOP + BELOW + SEAL), outline="#8a8f88", width=2)
    across, down = np.arange(left + 4, left + wide - 6, 8), np.arange(TOP + BELOW + 4, TOP + BELOW + SEAL - 4, 8)
    for x in across:
        for y in down:
            if rng.uniform() < covered:
                pen.rectangle((x, y, x + 8, y + 8), fill=COATING)


def _rule(pen: ImageDraw.ImageDraw) -> None:
    """A rule in millimetres below the halves."""
    left, top = 120, SIZE[1] - 92
    pen.rectangle((left, top, left + 62 * MM, top + 52), fill="#f4f2ea", outline=INK)
    for mm in range(61):
        tick = 26 if mm % 10 == 0 else 18 if mm % 5 == 0 else 11
        pen.line((left + mm * MM, top, left + mm * MM, top + tick), fill=INK, width=2)
        if mm % 10 == 0:
            pen.text((left + mm * MM + 5, top + 24), str(mm), fill=INK, font=_font(22))


def _words(pen: ImageDraw.ImageDraw, label: str) -> None:
    pen.rectangle((120, 48, 120 + 30 * MM, 132), fill="#ffffff", outline=INK)
    pen.text((140, 64), label, fill=INK, font=_font(44))
    pen.text((700, 76), "Drawn for the demo; no camera took this.", fill="#dfe4e2", font=_font(28))


def _font(size: int) -> ImageFont.FreeTypeFont:
    return ImageFont.truetype(FONT, size)
