"""The demo's raw inputs, read from fixtures/: who there is, and what happened when."""

import pathlib
import tomllib
from decimal import Decimal
from typing import Any

FOLDER = pathlib.Path(__file__).resolve().parents[3] / "fixtures"


def laboratory() -> dict[str, Any]:
    """People, clients, method and equipment. Numbers with a decimal point are exact decimals."""
    return _read("lab.toml")


def studies() -> list[dict[str, Any]]:
    """The studies, each with its plan and what came of it."""
    return _read("studies.toml")["study"]


def _read(name: str) -> dict[str, Any]:
    return tomllib.loads((FOLDER / name).read_text(encoding="utf-8"), parse_float=Decimal)


def of_strip(script: dict[str, Any], lot: str, number: int) -> dict[str, Any]:
    """What the fixtures say of one strip in particular; nothing for most."""
    found = (row for row in script.get("strip", []) if (row["lot"], row["number"]) == (lot, number))
    return next(found, {})
