"""An invented report: laboratory, client, people and numbers are made up."""

import copy
import statistics
from functools import cache
from typing import Any

from labrecords.charts.limits import Limit
from labrecords.charts.svg import svg
from labrecords.charts.values import Bound, GroupValues, individual_values

_STRENGTHS = {
    "Lot 7A": "8.31 7.94 8.02 8.77 7.58 8.19 8.40 7.86 8.05 8.63 7.71 8.28 8.11 7.99 8.52 8.36 7.67 8.08 8.24 7.90",
    "Lot 7B": "7.10 6.88 7.42 6.51 7.05 7.33 6.97 4.86 7.21 6.74 7.16 6.93 7.38 7.02 6.66 7.27 6.81 7.12 6.99 7.20",
    "Lot 7C": "7.88 8.14 7.63 7.95 8.21 7.74 8.02 7.59 8.30 7.81 7.97 8.09 7.70 7.92 8.16 7.85 7.78 8.05 7.66 8.00",
}
_PEOPLE = ["Maren Oduya", "Tobin Halvard"]


@cache
def figure():
    """Draw the individual values of the sample."""
    groups = [
        GroupValues(
            label=lot,
            values=tuple(float(text) for text in texts.split()),
            codes=tuple(_codes(lot)),
            modes=("AP",) * 14 + ("CO",) * 6,
            mean=statistics.fmean(float(text) for text in texts.split()),
            bound=Bound(bound, "95 % confident that at least 99 % exceed it"),
        )
        for (lot, texts), bound in zip(_STRENGTHS.items(), (7.05, 5.12, 7.31), strict=True)
    ]
    return individual_values(groups, unit="N/15 mm", decimals=2, limits=[Limit(5.0), Limit(6.0, "alert limit")])


@cache
def figures() -> dict[str, bytes]:
    """Give the drawings that the sample names."""
    return {"values": svg(figure())}


def attachments() -> dict[str, bytes]:
    """Give the data carried inside the sample."""
    rows = [f"{row['specimen']},{row['maximum']}" for row in _results()]
    return {"results.csv": "\r\n".join(["specimen,peak_force_N_per_15mm", *rows, ""]).encode()}


def content() -> dict[str, Any]:
    """Give the content of the sample, fresh each time."""
    return copy.deepcopy(_CONTENT) | {"results": _results(), "figures": [_described(figure())]}


def _described(drawn) -> dict[str, Any]:
    return {
        "name": drawn.id,
        "title": drawn.title,
        "subtitle": drawn.subtitle,
        "alt": drawn.label,
        "summary": list(drawn.summary),
    }


def _codes(lot: str) -> list[str]:
    return [f"PX-{lot[-2:]}-{number:02d}" for number in range(1, 21)]


def _results() -> list[dict[str, Any]]:
    return [
        {
            "specimen": code,
            "group": lot,
            "maximum": text,
            "average": f"{float(text) - 0.62:.2f}",
            "modes": ["AP"] if number < 14 else ["CO", "AP"],
            "marks": [],
            "remarks": [],
            "tested_on": "18 Nov 2026" if lot != "Lot 7C" else "19 Nov 2026",
            "tested_by": _PEOPLE[number % 2],
        }
        for lot, texts in _STRENGTHS.items()
        for number, (code, text) in enumerate(zip(_codes(lot), texts.split(), strict=True))
    ]


def _item(lot: str) -> dict[str, Any]:
    return {
        "lot": lot,
        "description": "Header pouch 180 × 240 mm, coated paper to clear film, empty",
        "received_on": "9 Nov 2026",
        "condition": "as received, boxes undamaged",
        "sealed_how": "client’s rotary sealer 3, 124 °C, 0.9 s (stated by the client)",
        "sampled_by": "client",
        "sampled_on": "3 Nov 2026 (stated by the client)",
        "conditioned": "since 10 Nov 2026, 09:00 GMT, at 23 °C, 50 % RH: 190 hours before the first test",
    }


def _group(label: str, *, mean: str, sd: str, low: str, high: str, bound: str, below: str) -> dict[str, Any]:
    return {
        "label": label,
        "planned": 20,
        "tested": 21 if label == "Lot 7B" else 20,
        "void": 1 if label == "Lot 7B" else 0,
        "marked": 0,
        "n": 20,
        "mean": mean,
        "sd": sd,
        "minimum": low,
        "maximum": high,
        "cv": "",
        "interval": f"95 % confidence interval for the mean, {mean} ± 0.15",
        "bound": f"95 % confident that at least 99 % exceed {bound}",
        "below_limit": below,
        "above_limit": "",
        "note": "",
    }


_CONTENT: dict[str, Any] = {
    "schema": "labrecords report 1",
    "number": "KR-2026-0041",
    "issue": 1,
    "replaces": "",
    "title": "Seal strength of header pouches from three lots",
    "issued_on": "25 Nov 2026",
    "paper": "a4",
    "laboratory": {
        "name": "Kestrel Row Packaging Laboratory",
        "address": "4 Kestrel Row, Fennmouth",
        "place_of_work": "Room 12 at the laboratory’s address",
    },
    "client": {
        "name": "Brightwater Splints",
        "contact": "Ines Abelard, packaging",
        "address": "Quay House, Lower Tarn",
    },
    "study": {
        "code": "ST-0107",
        "title": "Three-lot seal strength, as made",
        "mark": "5F2C-91AE",
        "purpose": "To show that three production lots meet the requirement before ageing starts.",
    },
    "summary": [
        "60 pouches from three lots were peeled on 18 and 19 Nov 2026 by method PM-3.",
        "The weakest seal measured 4.86 N/15 mm (PX-7B-08); at least 5.00 was asked for.",
        "59 of 60 met it. Lot 7B is not shown to meet the requirement.",
        "This does not cover ageing or shipping.",
    ],
    "decision_rule": {
        "text": "A value counts as meeting the limit if it is 5.00 N/15 mm or more, as recorded to 0.01. "
        "Measurement uncertainty (±0.12, k = 2) was not subtracted. If a true value lay exactly on the "
        "limit, the chance of a wrong verdict would be up to 50 %.",
        "chosen_by": "the client, in the order of 2 Nov 2026",
        "protocol": "Version 2, agreed to by the client on 2 Nov 2026 (letter). SHA-256 0123456789abcdef…",
    },
    "limits": [
        {
            "kind": "requirement",
            "text": "at least 5.00 N/15 mm",
            "origin": "client drawing D-114, revision C",
            "note": "client-supplied",
        },
        {"kind": "alert limit", "text": "at least 6.00 N/15 mm", "origin": "this laboratory", "note": ""},
    ],
    "method": {
        "code": "PM-3",
        "title": "Peel strength of flexible seals",
        "version": "4",
        "reference": "ASTM F88/F88M-23",
        "deviations": [],
    },
    "setup": [
        ["Technique", "B, tail held by hand at 90 degrees"],
        ["Grip separation rate", "300 mm/min"],
        ["Initial grip separation", "25 mm"],
        ["Specimen width", "15.0 mm, nominal"],
        ["Webs in the grips", "film in the moving grip, paper in the fixed grip"],
        ["Machine direction", "along the pull"],
        ["Averaging rule", "mean force between 10 % and 90 % of the travel above 20 % of the peak"],
        ["Conditioning", "48 h at 23 ± 2 °C and 50 ± 5 % relative humidity"],
        ["Seal width", "10 mm"],
    ],
    "items": [_item("Lot 7A"), _item("Lot 7B"), _item("Lot 7C")],
    "sampling": {
        "plan": "20 pouches of each lot, one specimen from the chevron end of each",
        "rationale": "n = 20 gives a 95 %/99 % bound with k = 3.295",
    },
    "unit": "N/15 mm",
    "groups": [
        _group("Lot 7A", mean="8.120", sd="0.32", low="7.58", high="8.77", bound="7.05", below="0 of 20"),
        _group("Lot 7B", mean="6.931", sd="0.55", low="4.86", high="7.42", bound="5.12", below="1 of 20"),
        _group("Lot 7C", mean="7.913", sd="0.20", low="7.59", high="8.30", bound="7.31", below="0 of 20"),
    ],
    "equipment": [
        {
            "item": "Tester T-2",
            "description": "Tensile tester, 1 kN frame",
            "certificate": "C-8841",
            "provider": "Harrow Metrology",
            "performed_on": "3 Mar 2026",
            "due_on": "3 Mar 2027",
        },
        {
            "item": "Cell LC-04",
            "description": "Load cell, 100 N, verified 0.50 to 100 N",
            "certificate": "C-8842",
            "provider": "Harrow Metrology",
            "performed_on": "3 Mar 2026",
            "due_on": "3 Mar 2027",
        },
    ],
    "conditions": [["Temperature", "22.6 to 23.4 °C"], ["Relative humidity", "48 to 52 %"]],
    "deviations": [
        {
            "specimens": ["PX-7B-01", "PX-7B-02"],
            "what": "Room humidity read 56 % when the run opened.",
            "decision": "Kept: exposure was under ten minutes.",
            "by": "Quill Sandoval",
        }
    ],
    "changes": [],
    "corrections": [
        {
            "specimen": "SP-000004-4",
            "before": "1.25",
            "after": "1.52",
            "why": "slip of the keys: the display said 1.52",
            "by": "R. Vik; agreed to by S. Brandt",
        }
    ],
    "photographs": [
        {
            "specimen": "PX-7A-01",
            "name": "photograph-PX-7A-01-1.jpg",
            "caption": "The inner web keeps the whole of the coating.",
            "attached_on": "19 Nov 2026",
            "attached_by": "Tobin Halvard",
            "sha256": "0" * 64,
        }
    ],
    "voids": [
        {
            "specimen": "PX-7B-21",
            "value": "3.10",
            "cause": "slipped in the grip",
            "words": "jaw mark seen, strip pulled out on the film side",
            "by": "Maren Oduya",
        }
    ],
    "refusals_note": "Two entries were refused and kept in the record; neither carried a value.",
    "people": [
        {
            "act": "Reviewed",
            "name": "Quill Sandoval",
            "meaning": "results checked against their traces",
            "at": "24 Nov 2026, 16:20",
        },
        {
            "act": "Authorised",
            "name": "Bea Lindqvist",
            "meaning": "release of this report",
            "at": "25 Nov 2026, 09:05",
        },
    ],
    "cautions": ["Strength is not integrity: a strong seal can still have a channel or a pinhole."],
    "statements": [
        "The results relate only to the items tested.",
        "This report is not to be reproduced except in full, without the laboratory’s written approval.",
        "What the client supplied is marked as stated by the client or client-supplied.",
        "No result comes from an external provider.",
    ],
    "trail": {"seq": 1843, "head": "b94d27b9934d3e08a52e52d7da7dabfac484efe37a5380ee9088f7ace2efcde9"},
    "content_sha256": "2c26b46b68ffc68ff99b453c1d30413413422d706483bfa0f98a5e886266e7ae",
}
