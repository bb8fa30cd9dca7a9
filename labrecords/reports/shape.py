"""What a report must say before it may be issued: ISO/IEC 17025:2017, 7.8.2.1, and the method's own list."""

import unicodedata
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

SCHEMA = "labrecords report 1"
PAPERS = ("a4", "us-letter")
UNKNOWN = "not known:"
_MUTE = {"Cc", "Cs", "Co", "Cn"}

# What the method's report clause asks of the set-up and the room, by the labels that the report prints.
SETUP = (
    "Technique",
    "Grip separation rate",
    "Initial grip separation",
    "Specimen width",
    "Webs in the grips",
    "Machine direction",
    "Averaging rule",
    "Conditioning",
    "Seal width",
)
CONDITIONS = ("Temperature", "Relative humidity")


@dataclass(frozen=True)
class Text:
    """A text or a count; if required it is not empty, or says "not known:" and the reason."""

    required: bool = True


@dataclass(frozen=True)
class Record:
    """An item with named parts."""

    parts: Mapping[str, Any]


@dataclass(frozen=True)
class Rows:
    """A list of `each`; at least one if required, else an empty list, which is printed as "none"."""

    each: Any
    required: bool = False


@dataclass(frozen=True)
class Pairs:
    """A list of label and text; the `labels` named must be among them, in any letter case."""

    labels: tuple[str, ...]


def _record(*required: str, optional: tuple[str, ...] = (), **parts: Any) -> Record:
    texts = {name: Text() for name in required} | {name: Text(required=False) for name in optional}
    return Record(texts | parts)


_SENTENCES = Rows(Text(), required=True)
_NAMES = Rows(Text())

REPORT = _record(
    *("schema", "number", "issue", "title", "issued_on", "paper", "unit", "refusals_note", "content_sha256"),
    optional=("replaces",),
    laboratory=_record("name", "address", "place_of_work"),
    client=_record("name", "contact", "address"),
    study=_record("code", "title", "mark", "purpose"),
    changes=Rows(Text()),
    summary=_SENTENCES,
    decision_rule=_record("text", "chosen_by", "protocol"),
    limits=Rows(_record("kind", "text", "origin", optional=("note",))),
    method=_record("code", "title", "version", "reference", deviations=Rows(Text())),
    setup=Pairs(SETUP),
    items=Rows(
        _record(
            *("lot", "description", "received_on", "condition", "sealed_how", "sampled_by", "sampled_on", "conditioned")
        ),
        required=True,
    ),
    sampling=_record("plan", "rationale"),
    groups=Rows(
        _record(
            *("label", "planned", "tested", "void", "marked", "n", "mean", "sd", "minimum", "maximum"),
            optional=("cv", "interval", "bound", "below_limit", "above_limit", "note"),
        ),
        required=True,
    ),
    results=Rows(
        _record(
            *("specimen", "group", "maximum", "tested_on", "tested_by"),
            optional=("average",),
            modes=_NAMES,
            marks=_NAMES,
            remarks=_NAMES,
        ),
        required=True,
    ),
    photographs=Rows(
        _record("specimen", "name", "attached_on", "attached_by", "sha256", optional=("caption",)),
    ),
    figures=Rows(_record("name", "title", "subtitle", "alt", summary=_SENTENCES)),
    equipment=Rows(_record("item", "description", "certificate", "provider", "performed_on", "due_on"), required=True),
    conditions=Pairs(CONDITIONS),
    deviations=Rows(_record("what", "decision", "by", specimens=_NAMES)),
    corrections=Rows(_record("specimen", "before", "after", "why", "by")),
    voids=Rows(_record("specimen", "value", "cause", "words", "by")),
    people=Rows(_record("act", "name", "meaning", "at"), required=True),
    cautions=Rows(Text()),
    statements=_SENTENCES,
    trail=_record("seq", "head"),
)


def check(content: Mapping[str, Any]) -> None:
    """Raise ValueError naming every item that is missing, empty or of the wrong kind; else do nothing.

    Where a list of texts is meant, one text will do. An unknown item is an error too: nothing that
    somebody put into a report may be left unprinted.
    """
    faults = [*_faults(REPORT, content, "the report"), *_other_faults(content)]
    if faults:
        raise ValueError("The report cannot be issued. " + " ".join(faults))


def _other_faults(content: Mapping[str, Any]) -> Iterator[str]:
    if content.get("paper") not in PAPERS:
        yield f"paper must be one of {', '.join(PAPERS)}."
    if content.get("schema") != SCHEMA:
        yield f"schema must be {SCHEMA!r}."


def _faults(rule: Any, value: Any, name: str) -> Iterator[str]:
    checks = {Text: _text, Record: _parts, Rows: _rows, Pairs: _pairs}
    yield from checks[type(rule)](rule, value, name)


def _text(rule: Text, value: Any, name: str) -> Iterator[str]:
    if value is None and not rule.required:
        return
    if isinstance(value, bool) or not isinstance(value, str | int):
        yield f"{name} must be text, not {type(value).__name__}."
    elif rule.required and not str(value).strip():
        yield f"{name} is empty: fill it, or write “{UNKNOWN}” and the reason."
    elif str(value).strip() == UNKNOWN:
        yield f"{name} is not known, and no reason is given: add the reason."
    else:
        yield from (f"{name} holds U+{ord(sign):04X}, which cannot be printed: remove it." for sign in _mute(value))


def _mute(value: str | int) -> set[str]:
    """Give the control characters, lone surrogates and private or unassigned signs of a text."""
    return {sign for sign in str(value) if unicodedata.category(sign) in _MUTE and sign not in "\n\t"}


def _parts(rule: Record, value: Any, name: str) -> Iterator[str]:
    if not isinstance(value, Mapping):
        yield f"{name} must have the parts {', '.join(rule.parts)}."
        return
    prefix = "" if name == "the report" else f"{name}."
    for part, inner in rule.parts.items():
        if part in value:
            yield from _faults(inner, value[part], prefix + part)
        else:
            yield f"{prefix}{part} is missing."
    yield from (f"{prefix}{part} is not an item of a report." for part in value if part not in rule.parts)


def _rows(rule: Rows, value: Any, name: str) -> Iterator[str]:
    if isinstance(rule.each, Text) and isinstance(value, str):
        yield from _text(Text(required=rule.required), value, name)
    elif not _is_list(value):
        yield f"{name} must be a list."
    elif rule.required and not value:
        yield f"{name} is empty: at least one is needed."
    else:
        for number, row in enumerate(value, start=1):
            yield from _faults(rule.each, row, f"{name}[{number}]")


def _pairs(rule: Pairs, value: Any, name: str) -> Iterator[str]:
    if not _is_list(value) or not all(_is_list(row) and len(row) == 2 for row in value):
        yield f"{name} must be a list of label and text."
        return
    for label, text in value:
        yield from _text(Text(), label, f"a label of {name}")
        yield from _text(Text(), text, f"{name}, {label},")
    given = {str(label).casefold() for label, _ in value}
    yield from (f"{name} lacks “{label}”." for label in rule.labels if label.casefold() not in given)


def _is_list(value: Any) -> bool:
    return isinstance(value, Sequence) and not isinstance(value, str | bytes)
