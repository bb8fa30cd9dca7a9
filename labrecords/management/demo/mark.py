"""The mark by which a demo is known again, so that nothing but a demo is ever cleared away."""

import pathlib
import uuid


def folder(home: pathlib.Path) -> pathlib.Path:
    """Where the demo keeps its files."""
    return home / "demo"


def leave(home: pathlib.Path, laboratory: uuid.UUID) -> None:
    """Note that the laboratory with this identifier is a demo's."""
    folder(home).mkdir(parents=True, exist_ok=True)
    _file(home).write_text(f"{laboratory}\n", encoding="utf-8")


def fits(home: pathlib.Path, laboratory: uuid.UUID | None) -> bool:
    """Whether the laboratory with this identifier was made by the demo."""
    return _file(home).exists() and _file(home).read_text(encoding="utf-8").strip() == str(laboratory)


def _file(home: pathlib.Path) -> pathlib.Path:
    return folder(home) / "laboratory"
