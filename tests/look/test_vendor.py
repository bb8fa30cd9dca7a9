"""What others made is what the list says, and the fonts carry the signs the trade writes."""

import hashlib
import pathlib
import re

import pytest
from fontTools.ttLib import TTFont

STATIC = pathlib.Path(__file__).parents[2] / "static"
LISTED = re.findall(r"^\| (\S+) \|.*`([0-9a-f]{64})` \|$", (STATIC / "vendor/VERSIONS.md").read_text(), re.MULTILINE)
FONTS = sorted([*STATIC.glob("fonts/*.woff2"), *STATIC.glob("fonts/ttf/*.ttf")])
SIGNS = "≤≥±−×·σΔΩ°²½→–" + "\u00b5\u03bc\u202f\u00a0\u2011"


@pytest.mark.parametrize(("name", "expected"), LISTED, ids=[name for name, _ in LISTED])
def test_file_is_the_one_listed(name, expected):
    assert hashlib.sha256((STATIC / name).read_bytes()).hexdigest() == expected


def test_every_foreign_file_is_listed():
    licences = {"vendor/VERSIONS.md"} | {f"{path.relative_to(STATIC)}" for path in STATIC.rglob("*LICENSE*")}
    found = {str(path.relative_to(STATIC)) for place in ("vendor", "fonts") for path in (STATIC / place).rglob("*.*")}
    assert found - licences == {name for name, _ in LISTED}


@pytest.mark.parametrize("font", FONTS, ids=lambda path: path.name)
def test_font_carries_the_signs(font):
    carried = TTFont(font).getBestCmap()
    assert [sign for sign in SIGNS if ord(sign) not in carried] == []
