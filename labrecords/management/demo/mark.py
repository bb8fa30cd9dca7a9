"""The mark by which a demo is known again, so that nothing but a demo is ever cleared away."""

import pathlib
import uuid

BEGUN, WHOLE = "begun", "whole"


def folder(home: pathlib.Path) -> pathlib.Path:
    """Where the demo keeps its files."""
    return home / "demo"


def leave(home: pathlib.Path, laboratory: uuid.UUID, state: str) -> None:
    """Note that the laboratory with this identifier is a demo's, and whether it has been built whole."""
    folder(home).mkdir(parents=True, exist_ok=True)
    _file(home).write_text(f"{laboratory} {state}\n", encoding="utf-8")


def state(home: pathlib.Path, laboratory: uuid.UUID | None) -> str | None:
    """How far the demo with this laboratory has been built; None if the laboratory is no demo's."""
    if not _file(home).exists():
        return None
    known, _, state = _file(home).read_text(encoding="utf-8").strip().partition(" ")
    return state if known == str(laboratory) else None


def _file(home: pathlib.Path) -> pathlib.Path:
    return folder(home) / "laboratory"
