"""Files that nobody should send: made here, by kind, for every place that takes a file.

`python -m tests.files.hostile MEGABYTES` reads all of them as trace files within so much memory, and prints how many
were read and how many were refused.
"""

import bz2
import codecs
import gzip
import io
import json
import lzma
import resource
import sys
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass

from .shapes import HEAD, body, good, lines

PDF, PNG, JPEG = b"%PDF-1.7\n%%EOF\n", b"\x89PNG\r\n\x1a\n", b"\xff\xd8\xff\xe0"
SECONDS = 300


@dataclass(frozen=True)
class Hostile:
    """A file with what is wrong with it."""

    what: str
    name: str
    content: bytes


def corpus() -> list[Hostile]:
    """All of them; no two have the same bytes."""
    kinds = (encodings, line_ends, cells, shapes, packed, disguised, empty, names)
    return [Hostile(what, name, content) for kind in kinds for what, name, content in kind()]


def encodings() -> Iterator[tuple[str, str, bytes]]:
    """Bytes that are text in another encoding, in none, or in one that hides something."""
    text = good().decode()
    for encoding in ("utf-16", "utf-16-le", "utf-16-be", "utf-32", "utf-32-be", "utf-7", "cp037", "utf-8-sig"):
        yield f"in {encoding}", f"{encoding}.csv", ("é" + text).encode(encoding)
    for encoding, sign in (("cp1252", "\x80"), ("shift_jis", "力"), ("gb18030", "力"), ("koi8-r", "Ж"), ("big5", "力")):
        sign = "€" if encoding == "cp1252" else sign
        yield f"a sign in {encoding}", f"{encoding}.csv", (sign + text).encode(encoding)
    marks = (codecs.BOM_UTF8, codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE, codecs.BOM_UTF32_LE)
    for number, mark in enumerate(marks):
        yield f"mark {number} alone", f"mark{number}.csv", mark
        yield f"mark {number} before something else", f"wrong{number}.csv", mark + b"\xd8\x00\xff" + good()
        yield f"mark {number} twice", f"twice{number}.csv", mark * 2 + good()
    broken = (b"\xff", b"\xc0\xaf", b"\xe0\x80\xaf", b"\xed\xa0\x80", b"\xf4\x90\x80\x80", b"\xc3", b"\x80\x81\x8d")
    for raw in (*broken, b"\x00", b"\x00" * 999, b"\x1b[2J", b"\x7f", b"\x08\x08", b"\x0b", b"\x1a", b"\x85"):
        yield f"bytes {raw[:4].hex()} in the header", f"head-{raw[:4].hex()}.csv", raw + good()
        yield f"bytes {raw[:4].hex()} in a row", f"row-{raw[:4].hex()}.csv", good().replace(b"1.90", b"1.9" + raw)
    for sign in "\u202e\u2066\u200f\u200b\ufeff\u2028\u2029\u0301\ufffd\ufffe\U000e0041\u00ad":
        yield f"U+{ord(sign):04X} in the header", f"u{ord(sign):x}.csv", (sign + text).encode()
        yield f"U+{ord(sign):04X} in a cell", f"c{ord(sign):x}.csv", text.replace("1.90", f"1.9{sign}").encode()


def line_ends() -> Iterator[tuple[str, str, bytes]]:
    """Every mixture of what ends a line."""
    rows = good().split(b"\n")
    ends = {"crlf": b"\r\n", "cr": b"\r", "crcrlf": b"\r\r\n", "lfcr": b"\n\r", "blank": b"\n\n", "ff": b"\x0c\n"}
    for what, end in ends.items():
        yield f"lines end in {what}", f"{what}.csv", end.join(rows)
    mixed = b"".join(row + end for row, end in zip(rows, list(ends.values()) * 10, strict=False))
    yield "lines end in all ways", "mixed.csv", mixed
    yield "no line ends at all", "oneline.csv", b",".join(rows)
    yield "only line ends", "ends.csv", b"\n" * 70_000
    yield "only returns", "returns.csv", b"\r" * 70_001


def cells() -> Iterator[tuple[str, str, bytes]]:
    """Cells that are no numbers, or not those they seem to be."""
    hostile = (
        *("=1+1", '=HYPERLINK("http://x")', "+1+1", "-2+3", "@SUM(A1)", "\t=1", "=cmd|'/c calc'!A0", "%00", "\\0"),
        *(
            "inf",
            "-inf",
            "nan",
            "NaN",
            "1e999",
            "-1e999",
            "1e308",
            "1e-400",
            "0x1f",
            "1_000",
            "١٢",
            "１２",
            "½",
            "1.5.2",
        ),
        *("1,234.5", "1.234,5", "1'234.5", "1 234,5", "1,2", '"1,234"', '"1\n2"', '"1.5', '"', '""""', "'1", "1;2"),
        *("<script>alert(1)</script>", "{{ 7*7 }}", "{% debug %}", "' OR 1=1 --", "$(id)", "../../etc/passwd"),
        *("-0", "+-1", "--1", "1-", "1e", "e1", ".", "-", "TRUE", "None", "#REF!", "9" * 400, "0." + "1" * 400),
    )
    for number, cell in enumerate(hostile):
        yield f"cell {cell[:20]!r}", f"cell{number}.csv", good(replace={20: f"2.00,{cell}"})
        yield f"heading {cell[:20]!r}", f"head{number}.csv", good(head=f"{HEAD},{cell}")
    yield "decimal commas", "commas.csv", body("{x:.2f};{f:.3f}", comma=True).encode()
    yield "decimal commas between commas", "both.csv", body("{x:.2f},{f:.3f}", comma=True).encode()
    yield "decimal signs of both kinds", "signs.csv", "\n".join([HEAD, *lines()[:20], *lines(comma=True)[20:]]).encode()


def shapes() -> Iterator[tuple[str, str, bytes]]:
    """Tables as no tester makes them."""
    yield "one huge cell", "huge.csv", good(replace={5: "0.50," + "9" * 3_000_000})
    yield "one huge quoted cell", "quoted.csv", good(replace={5: '0.50,"' + "a\n" * 1_000_000 + '"'})
    yield "millions of columns", "wide.csv", b",".join([b"1"] * 2_000_000) + b"\n" + good()
    yield "millions of empty columns", "commas.csv", good() + b"\n" + b"," * 3_000_000
    yield "many columns in every row", "broad.csv", b"\n".join([b"1," * 3_000] * 60)
    yield "millions of short rows", "long.csv", b"1,2\n" * 1_200_000
    yield "millions of quotes", "quotes.csv", b'"' * 1_500_000
    yield "many tables", "tables.csv", b"\n\n".join([good()] * 400)
    yield "a table without end", "zeros.csv", b"0,0\n" * 200_000
    yield "rows of many widths", "ragged.csv", "\n".join(",".join("1" * n) for n in range(1, 400)).encode()
    yield "deep brackets", "deep.csv", b"[" * 500_000
    yield "a pattern's worst case", "slow.csv", (b" " * 15_000 + b"x\n") * 30
    yield "digits and dots without end", "dots.csv", (b"1." * 9_000 + b"\n") * 20
    yield "too many bytes", "large.csv", b"0.1,0.2\n" * 2_700_000


def packed() -> Iterator[tuple[str, str, bytes]]:
    """Small files that are huge when opened."""
    zeros = b"0" * 40_000_000
    yield "a gzip bomb", "gzip.csv", gzip.compress(zeros, mtime=0)
    yield "a bzip2 bomb", "bzip2.csv", bz2.compress(zeros)
    yield "an xz bomb", "xz.csv", lzma.compress(zeros, preset=0)
    entries = {
        "zip": "data.csv",
        "xlsx": "xl/worksheets/sheet1.xml",
        "docx": "word/document.xml",
        "slip": "../../x.csv",
    }
    for what, entry in entries.items():
        out = io.BytesIO()
        with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
            archive.writestr(entry, zeros)
        yield f"a {what} bomb", f"{what}.csv", out.getvalue()
        yield f"a {what} bomb as PDF", f"{what}.pdf", out.getvalue() + b" "
    laughs = "".join(f'<!ENTITY a{n} "{f"&a{n - 1};" * 10}">' for n in range(1, 10))
    yield (
        "an XML bomb",
        "laughs.csv",
        f'<?xml version="1.0"?><!DOCTYPE a [<!ENTITY a0 "ha">{laughs}]><a>&a9;</a>'.encode(),
    )


def disguised() -> Iterator[tuple[str, str, bytes]]:
    """Things under the ending of another thing."""
    html, svg = b"<!doctype html><script>alert(1)</script>", b'<svg xmlns="http://www.w3.org/2000/svg" onload="x"/>'
    things = {"pdf": PDF, "png": PNG, "jpeg": JPEG, "html": html, "svg": svg, "exe": b"MZ\x90\x00", "elf": b"\x7fELF"}
    endings = ("csv", "pdf", "png", "jpg", "html", "svg", "txt", "pdf.exe", "PDF", "csv ", "")
    for thing, content in things.items():
        for ending in endings:
            yield f"{thing} as .{ending}", f"{thing}.{ending}", content + f"{thing} {ending}".encode()
    for thing, begins in (("pdf", PDF), ("png", PNG), ("jpg", JPEG)):
        yield f"{thing} that goes on as HTML", f"both.{thing}", begins + html


def empty() -> Iterator[tuple[str, str, bytes]]:
    """Nothing, in several ways."""
    for number, content in enumerate((b"", b" ", b"\n", b"\t", b",", b";;;", b"\r\n\r\n", b"\xef\xbb\xbf\n", b'""')):
        yield f"nothing, {content!r}", f"nothing{number}.csv", content
    yield "only headings", "headings.csv", HEAD.encode()
    yield "two rows", "two.csv", good()[:60]


def names() -> Iterator[tuple[str, str, bytes]]:
    """Names that lead elsewhere, break a header or are kept back by some system."""
    hostile = (
        *("../../../etc/passwd", "..\\..\\windows\\win.ini", "/etc/cron.d/x", "C:\\x", "~/.ssh/id", "..", ".", "", " "),
        *("a\r\nSet-Cookie: a=b", "a\nb", 'a"; filename="b.html', "a;b", "a%0d%0ab", "a\x00", "a\x1b[2J", "=1+1"),
        *("CON", "NUL", "aux", "COM1", "LPT1.csv", "a:b", "a*?<>|", "-rf", ".htaccess", "a" * 5_000, "é" * 3_000),
        *(
            "\u202efdp.exe",
            "\u2066a",
            "a\u200b",
            "\ufeffa",
            "力",
            "&#x2e;&#x2e;&#x2f;a",
            "<img src=x onerror=x>",
            "{{ a }}",
        ),
    )
    for number, name in enumerate(hostile):
        yield f"named {name[:20]!r}", f"{name}.csv", good() + b"\n" * (number + 1)
        yield f"PDF named {name[:20]!r}", f"{name}.pdf", PDF + b" " * (number + 1)


def read_all() -> dict[str, int]:
    """Read each as a trace file, as the pages and the interface do."""
    from labrecords.files import reader, sniff
    from labrecords.files.problems import FileProblem

    outcome = {"read": 0, "refused": 0}
    for one in corpus():
        try:
            layout = sniff.sniff(one.content).layout
            reader.read(one.content, layout, name=one.name)
            outcome["read"] += 1
        except FileProblem:
            outcome["refused"] += 1
    return outcome


if __name__ == "__main__":
    most = int(sys.argv[1]) * 2**20
    resource.setrlimit(resource.RLIMIT_AS, (most, most))
    resource.setrlimit(resource.RLIMIT_CPU, (SECONDS, SECONDS))
    found = read_all()
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024
    sys.stdout.write(json.dumps(found | {"peak_mb": peak}))
