"""The report's PDF says everything it was given, in order, as text, the same each time."""

import os
import re
import shutil
import subprocess
from functools import cache

import pytest
import typst

from labrecords.reports.typeset import STANDARDS, _day, pdf

from . import sample
from .test_shape import paths, put

HOSTILE = '#panic("x") $x$ *b* _i_ [ \\ ] <ref> @cite // c /* `r` = h\n- l ~ -- "q" {1+1} #{'
ORDER = [
    "Answer",
    "Decision rule and limits",
    "Results",
    "Method",
    "Equipment and conditions",
    "What did not go to plan",
    "Items and sampling",
    "Statements",
    "Review and authorisation",
    "Data and record",
]


def needs(program: str) -> str:
    """Give the program's path; without it skip in plain words, but never on the checking machine."""
    found = shutil.which(program)
    if found is None and not os.environ.get("CI"):
        pytest.skip(f"{program} (poppler-utils) is not installed, so the PDF's text was not read.")
    assert found, f"{program} (poppler-utils) must be installed where CI is set."
    return found


@cache
def made(paper: str = "a4") -> bytes:
    return pdf(sample.content() | {"paper": paper}, sample.figures(), attachments=sample.attachments())


def ask(program: str, body: bytes, folder, *options: str) -> str:
    file = folder / "report.pdf"
    file.write_bytes(body)
    last = ["-"] if program == "pdftotext" else []
    command = [needs(program), *options, str(file), *last]
    return subprocess.run(command, capture_output=True, check=True).stdout.decode()


def squeezed(text: str) -> str:
    return "".join(text.split())


def leaf(content, path):
    for key in path:
        content = content[key]
    return str(content)


def test_same_content_gives_the_same_bytes():
    again = pdf(sample.content(), sample.figures(), attachments=sample.attachments())
    assert again == made()


def test_other_content_gives_other_bytes():
    content = sample.content() | {"refusals_note": "No entry was refused."}
    assert pdf(content, sample.figures(), attachments=sample.attachments()) != made()


def test_file_claims_the_archival_and_the_accessible_standard():
    # ISO 19005-3 and ISO 14289-1 name these marks; no independent checker was run.
    assert re.search(rb"<pdfaid:part>3</pdfaid:part>\s*<pdfaid:conformance>A<", made())
    assert b"<pdfuaid:part>1</pdfuaid:part>" in made()


def test_every_text_of_the_content_is_printed(printed):
    content = sample.content()
    wanted = [
        path
        for path in paths(content)
        if path[0] != "paper" and not (path[0] == "figures" and path[-1] in ("name", "alt"))
    ]
    assert len(wanted) > 500
    missing = [path for path in wanted if squeezed(leaf(content, path)) not in printed]
    assert missing == []


def test_sections_come_in_their_order(tmp_path):
    printed = ask("pdftotext", made(), tmp_path)
    places = [printed.index(f"{number} {title}\n") for number, title in enumerate(ORDER, start=1)]
    assert places == sorted(places)


@pytest.fixture(scope="module")
def printed(tmp_path_factory) -> str:
    return squeezed(ask("pdftotext", made(), tmp_path_factory.mktemp("pdf"), "-raw"))


@pytest.mark.parametrize(
    ("clause", "words"),
    [
        ("a", "Seal strength of header pouches from three lots"),
        ("b", "Kestrel Row Packaging Laboratory, 4 Kestrel Row, Fennmouth"),
        ("c", "Room 12 at the laboratory’s address"),
        ("d", "End of Report KR-2026-0041, issue 1"),
        ("e", "Ines Abelard, packaging"),
        ("f", "PM-3, version 4"),
        ("g", "as received, boxes undamaged"),
        ("h", "9 Nov 2026"),
        ("i", "18 Nov 2026"),
        ("j", "25 Nov 2026"),
        ("k", "20 pouches of each lot, one specimen from the chevron end of each"),
        ("l", "The results relate only to the items tested."),
        ("m", "Maximum force per width, N/15 mm"),
        ("n", "Additions to, deviations and exclusions from the method"),
        ("o", "Authorised"),
        ("p", "No result comes from an external provider."),
    ],
)
def test_report_holds_what_the_standard_asks(clause, words, printed):
    # ISO/IEC 17025:2017, 7.8.2.1, items a to p.
    assert squeezed(words) in printed, clause


def test_every_page_says_which_report_and_which_page_it_is(tmp_path):
    pages = ask("pdftotext", made(), tmp_path).split("\f")[:-1]
    assert len(pages) > 3
    for number, page in enumerate(pages, start=1):
        assert "Report KR-2026-0041, issue 1" in page
        assert f"page {number} of {len(pages)}" in page
    assert "End of Report KR-2026-0041, issue 1" in pages[-1]


def test_long_table_repeats_its_heading(tmp_path):
    pages = ask("pdftotext", made(), tmp_path).split("\f")
    holding = [page for page in pages if "PX-7A-" in page and "Tested on" in page]
    rows = [page for page in pages if len(re.findall(r"PX-7[ABC]-\d\d\n", page)) > 5]
    assert len(rows) > 1
    assert all("Failure mode" in page and "Tested by" in page for page in rows)
    assert holding


def test_file_is_tagged_with_tables_headings_and_the_figures_words(tmp_path):
    structure = ask("pdfinfo", made(), tmp_path, "-struct")
    for tag in ("H1", "THead", "TH", "TD", "Figure", "Caption", "L"):
        assert re.search(rf"^\s*{tag}\b", structure, re.MULTILINE), tag
    (described,) = sample.content()["figures"]
    assert b"/Alt(" + described["alt"].encode("ascii") in made()


@pytest.mark.parametrize(("paper", "size"), [("a4", "595.276 x 841.89"), ("us-letter", "612 x 792")])
def test_paper_is_the_clients(paper, size, tmp_path):
    # ISO 216: A4 is 210 mm by 297 mm; US letter is 8.5 in by 11 in; 72 points to the inch.
    assert size in ask("pdfinfo", made(paper), tmp_path)


def test_results_travel_inside_the_file_unchanged(tmp_path):
    saved = tmp_path / "saved"
    saved.mkdir()
    ask("pdfdetach", made(), tmp_path, "-saveall", "-o", str(saved))
    assert {file.name: file.read_bytes() for file in saved.iterdir()} == sample.attachments()


def test_hostile_texts_are_printed_as_they_are(tmp_path):
    content = sample.content()
    places = [
        ("title",),
        ("client", "name"),
        ("summary", 0),
        ("decision_rule", "text"),
        ("setup", 0, 1),
        ("groups", 0, "label"),
        ("results", 3, "specimen"),
        ("figures", 0, "title"),
        ("figures", 0, "alt"),
        ("statements", 0),
        ("people", 0, "meaning"),
    ]
    for path in places:
        put(content, path, HOSTILE)
    printed = squeezed(ask("pdftotext", pdf(content, sample.figures()), tmp_path, "-raw"))
    # The title stands above the page, the group's name in three tables, the alternative text in none.
    assert printed.count(squeezed(HOSTILE)) >= len(places) + 1


def test_word_longer_than_its_column_is_broken_not_lost(tmp_path):
    content = sample.content()
    content["client"]["name"] = long = "Bright" * 60
    content["results"][0]["specimen"] = code = "PX-" + "7" * 60
    printed = squeezed(ask("pdftotext", pdf(content, sample.figures()), tmp_path, "-raw"))
    assert long in printed
    assert code in printed


def test_empty_items_say_none(tmp_path):
    lists = ("limits", "figures", "photographs", "deviations", "corrections", "voids", "cautions")
    nothing = {name: [] for name in lists}
    printed = ask("pdftotext", pdf(sample.content() | nothing, {}), tmp_path)
    for words in (
        "Limits, and where they come from: none.",
        "Photographs, which are files of this report: none.",
        "Deviations: none.",
        "Void results, not counted: none.",
        "Files attached to this PDF: none.",
        "none; this is the first issue",
    ):
        assert words in printed
    assert "Cautions" not in printed


def test_replaced_report_is_named(tmp_path):
    content = sample.content() | {"issue": 2, "replaces": "KR-2026-0041, issue 1: the width was corrected"}
    printed = ask("pdftotext", pdf(content, sample.figures()), tmp_path)
    assert "KR-2026-0041, issue 1: the width was corrected" in printed


def test_figure_without_words_is_refused():
    content = sample.content()
    content["figures"][0]["alt"] = ""
    with pytest.raises(ValueError, match=r"figures\[1\]\.alt is empty"):
        pdf(content, sample.figures())


def test_the_standard_itself_refuses_a_picture_without_words():
    head = '#set document(title: "T", date: datetime(year: 2026, month: 1, day: 1))\n'
    drawing = b'<svg xmlns="http://www.w3.org/2000/svg" width="9" height="9"><path d="M0 0H9V9"/></svg>'
    with_words, without = (
        {"main.typ": f'{head}#image("a.svg"{alt})'.encode(), "a.svg": drawing} for alt in (', alt: "A"', "")
    )
    assert typst.compile(with_words, format="pdf", pdf_standards=list(STANDARDS))
    with pytest.raises(typst.TypstError, match="alt"):
        typst.compile(without, format="pdf", pdf_standards=list(STANDARDS))


def test_missing_drawing_is_refused_by_name():
    with pytest.raises(ValueError, match="figure values is missing"):
        pdf(sample.content(), {})


@pytest.mark.parametrize("name", ["../results.csv", "a b.csv", "", ".hidden"])
def test_attachment_with_an_unfit_name_is_refused(name):
    with pytest.raises(ValueError, match="needs a name"):
        pdf(sample.content(), sample.figures(), attachments={name: b"a"})


def test_sign_that_no_font_has_is_refused_and_not_printed_as_a_box():
    content = sample.content()
    content["client"]["name"] = "漢字"
    with pytest.raises(ValueError, match="No font at hand"):
        pdf(content, sample.figures())


@pytest.mark.parametrize("text", ["2026-11-05", "5 Nov 2026", "05 November 2026"])
def test_day_of_issue_is_read(text):
    assert _day(text) == [2026, 11, 5]


@pytest.mark.parametrize("text", ["03/04/2026", "31 Feb 2026", "5 Nev 2026", "soon"])
def test_day_that_could_be_misread_is_refused(text):
    with pytest.raises(ValueError, match="issued_on"):
        _day(text)
