"""Reads the committed reference tables; lines that start with # say where the numbers come from."""

import csv
from pathlib import Path

DATA = Path(__file__).parent / "data"


def rows(name):
    """Rows of a table in tests/reference/data, as dicts if it has a heading, else as lists."""
    lines = [line for line in (DATA / name).read_text(encoding="utf-8").splitlines() if not line.startswith("#")]
    return list(csv.reader(lines))


def column(name):
    """The single column of a table without a heading, as floats."""
    return [float(row[0]) for row in rows(name)]


def by_claim(name):
    """A table of tolerance factors as (n, coverage, confidence, factor)."""
    heading, *body = rows(name)
    claims = [tuple(int(share) / 100 for share in head.split("/")) for head in heading[1:]]
    return [
        (int(n), coverage, confidence, float(factor))
        for n, *factors in body
        for (confidence, coverage), factor in zip(claims, factors, strict=True)
    ]
