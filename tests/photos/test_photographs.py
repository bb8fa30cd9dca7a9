"""Photographs as files: what is decoded, how the shown picture stands, and what is left out of it."""

import io
import struct
import zlib

import pytest
from PIL import Image

from labrecords.files import photographs
from labrecords.files.photographs import NotAPhotograph
from labrecords.rules.photograph import MOST_BYTES
from tests.photos import pictures


@pytest.mark.parametrize(
    ("name", "content", "kind"),
    [("strip.jpg", pictures.jpeg(), "image/jpeg"), ("strip.PNG", pictures.png(), "image/png")],
)
def test_a_photograph_is_known_by_its_content(name, content, kind):
    found = photographs.read(name, content)
    assert (found.media_type, found.width, found.height) == (kind, 60, 40)
    assert pictures.opened(found.shown).format == "JPEG"


def test_what_the_camera_noted_is_not_in_what_is_shown():
    content = pictures.jpeg("of the bench")
    assert pictures.opened(content).getexif().get_ifd(pictures.GPS) != {}  # control: it was there
    assert b"comment of the bench" in content or b"a camera's comment" in content
    shown = photographs.read("strip.jpg", content).shown
    assert dict(pictures.opened(shown).getexif()) == {}
    assert not {"exif", "comment", "icc_profile"} & pictures.opened(shown).info.keys()
    for word in (b"Bench camera", b"a camera's comment", b"Exif"):
        assert word not in shown


# EXIF 2.32, 4.6.4 A, Orientation, from memory: where row 0 and column 0 of what is stored lie in the scene.
STORED_ROW_0 = {1: "top", 2: "top", 3: "bottom", 4: "bottom", 5: "left", 6: "right", 7: "right", 8: "left"}
STORED_COLUMN_0 = {1: "left", 2: "right", 3: "right", 4: "left", 5: "top", 6: "top", 7: "bottom", 8: "bottom"}
SIDES = {"top": (0.5, 0.1), "bottom": (0.5, 0.9), "left": (0.1, 0.5), "right": (0.9, 0.5)}


def colour(image, side):
    x, y = SIDES[side]
    red, _, blue = image.getpixel((int(x * (image.width - 1)), int(y * (image.height - 1))))
    return "red" if red > blue else "blue"


@pytest.mark.parametrize("turn", range(1, 9))
def test_it_stands_upright_however_the_camera_was_held(turn):
    """The strip is red along its stored row 0; a second one along its stored column 0."""
    by_row, by_column = pictures.strip(), Image.new("RGB", (60, 40), "blue")
    by_column.paste("red", (0, 0, 30, 40))
    for image, places in ((by_row, STORED_ROW_0), (by_column, STORED_COLUMN_0)):
        found = photographs.read("a.jpg", pictures.jpeg(turn=turn, image=image))
        shown = pictures.opened(found.shown)
        assert shown.size == (found.width, found.height) == ((40, 60) if turn >= 5 else (60, 40))
        opposite = {"top": "bottom", "bottom": "top", "left": "right", "right": "left"}[places[turn]]
        assert (colour(shown, places[turn]), colour(shown, opposite)) == ("red", "blue")


def test_a_large_one_is_shown_smaller_and_keeps_its_shape():
    found = photographs.read("a.jpg", pictures.jpeg(image=pictures.strip(3200, 1200)))
    assert (found.width, found.height) == (3200, 1200)
    assert pictures.opened(found.shown).size == (1600, 600)


@pytest.mark.parametrize(
    ("mode", "colour", "grey"),
    [("L", 100, 100), ("RGBA", (100, 100, 100, 255), 100), ("P", 0, None), ("1", 1, 255), ("I;16", 25700, 100)],
)
def test_every_kind_of_png_is_shown(mode, colour, grey):
    shown = pictures.opened(photographs.read("a.png", pictures.png(image=Image.new(mode, (30, 20), colour))).shown)
    if grey is not None:
        assert shown.getpixel((10, 10)) == pytest.approx((grey,) * 3, abs=2)


def test_a_jpeg_for_printing_is_shown():
    content = io.BytesIO()
    Image.new("CMYK", (30, 20), (0, 0, 0, 0)).save(content, "JPEG")
    assert pictures.opened(photographs.read("a.jpg", content.getvalue()).shown).mode == "RGB"


def test_a_jpeg_of_several_pictures_shows_the_first():
    content = io.BytesIO()
    pictures.strip().save(content, "MPO", save_all=True, append_images=[Image.new("RGB", (60, 40), "green")])
    shown = pictures.opened(photographs.read("a.jpg", content.getvalue()).shown)
    assert (colour(shown, "top"), colour(shown, "bottom")) == ("red", "blue")


def bomb(width: int, height: int) -> bytes:
    """A PNG of few bytes that would be decoded into very many."""

    def chunk(name: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    rows = zlib.compress(b"\0" * 1_000_000, 9)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", rows) + chunk(b"IEND", b"")


@pytest.mark.parametrize("size", [(8000, 5001), (12_000, 8_000), (60_000, 60_000), (2**31 - 1, 2**31 - 1)])
def test_a_bomb_is_refused_before_it_is_decoded(monkeypatch, size):
    monkeypatch.setattr(photographs, "_small", lambda image: pytest.fail("It was decoded."))
    with pytest.raises(NotAPhotograph, match="more than 40 million pixels"):
        photographs.read("a.png", bomb(*size))


def test_control_a_small_picture_made_the_same_way_is_decoded():
    assert photographs.read("a.png", bomb(500, 600)).width == 500


@pytest.mark.parametrize(
    ("name", "content", "words"),
    [
        ("a.jpg", pictures.png(), "does not begin as"),
        ("a.html", pictures.jpeg(), "does not begin as"),
        ("a.gif", b"GIF89a" + bytes(40), "does not begin as"),
        ("a.svg", b"<svg xmlns='http://www.w3.org/2000/svg'><script/></svg>", "does not begin as"),
        ("a.pdf", b"%PDF-1.7", "does not begin as"),
        ("a.jpg", b"", "does not begin as"),
        ("a.jpg", pictures.jpeg()[:400], "cannot be decoded"),
        ("a.png", pictures.png()[:60], "cannot be decoded"),
        ("a.png", b"\x89PNG\r\n\x1a\n" + bytes(100), "cannot be decoded"),
        ("a.jpg", pictures.jpeg() + bytes(MOST_BYTES), "the most is 15 MB"),
    ],
)
def test_what_is_no_photograph_is_refused_in_words(name, content, words):
    with pytest.raises(NotAPhotograph, match=words):
        photographs.read(name, content)


def test_no_damage_is_a_fault_of_ours():
    """Each byte of a photograph changed in turn: decoded, or refused in words."""
    for content, name in ((pictures.jpeg(), "a.jpg"), (pictures.png(), "a.png")):
        read = refused = 0
        for place in range(len(content)):
            damaged = content[:place] + bytes([content[place] ^ 0x5A]) + content[place + 1 :]
            try:
                photographs.read(name, damaged)
                read += 1
            except NotAPhotograph:
                refused += 1
        assert read + refused == len(content)
        assert refused > 8
