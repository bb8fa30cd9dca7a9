"""Every list of every page: its order, its words, its choices, its counts, and what it says when it is empty."""

import re
import uuid
from dataclasses import replace
from html.parser import HTMLParser

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from labrecords.actions import clients, links, methods
from labrecords.forms.listing import Listing
from labrecords.models import Deviation, Refusal, Study, User
from labrecords.views import refusals as refusal_page
from tests import loaded
from tests import world as cast
from tests.budgets import cast as budgets
from tests.pages import things
from tests.portal import cast as companies
from tests.protocols import cast as protocols
from tests.windows import cast as windows

HOSTILE = '"><script>alert(1)</script>'
# For each list who reads it, a column of words that is not the same in every row, and a choice with a value that
# some row has; `prefix` where a page has two lists.
LISTS = {
    "studies": ("edda", "client", ("state", "released")),
    "equipment": ("edda", "item", ("kind", "tester")),
    "people": ("edda", "name", ("role", "engineer")),
    "clients": ("edda", "client", None),
    "methods": ("edda", "version", ("method", "P-4")),
    "limits": ("edda", "limit", ("state", "waits for approval")),
    "limits unknown": ("edda", "study", ("client", "Fjell Instruments")),
    "budgets": ("edda", "budget", ("state", "waits for approval")),
    "reviews": ("edda", "what", ("state", "Correction waits")),
    "refusals": ("edda", "tried", ("code", "specimen-done")),
    "nonconforming": ("edda", "what", ("state", "Open")),
    "links-to-report": ("edda", "whom", ("state", "Expired")),
    "links-to-own-report": ("clara", "whom", ("state", "Expired")),
    "portal:reports": ("clara", "number", ("state", "Current")),
    "own-protocols": ("clara", "study", ("answer", "Waits for you")),
}
# What each says while nothing is on record, and the button of whoever may do the next thing.
FIRST = {
    "studies": ("No study yet", "Plan the first study"),
    "equipment": ("No equipment is registered", "Register the first item"),
    "clients": ("There is no client yet", "Add the first client"),
    "methods": ("No method has been issued", "Issue the first method"),
    "limits": ("No limit has been derived here yet", ""),
    "limits unknown": ("Every limit in use says where it comes from", ""),
    "budgets": ("No budget yet", "Work out the first budget"),
    "reviews": ("Nothing waits", "See the studies in testing"),
    "refusals": ("Nothing has been refused", ""),
    "nonconforming": ("No nonconforming work is on record", "Open nonconforming work"),
    "links-to-report": ("No link to this report has been given", ""),
    "links-to-own-report": ("No link to this report has been given", ""),
    "portal:reports": ("No report has been released to you yet", ""),
    "own-protocols": ("No protocol has been put to you yet", ""),
}


class Table(HTMLParser):
    """Headings with their attributes, the caption, and the words of each row of the table of one list."""

    def __init__(self, text: str, region: str):
        super().__init__()
        self.headings, self.rows, self.caption, self._cell, self._in_head = [], [], "", None, False
        start = text.find(f'id="{region}" role="region"')
        self.feed(text[start : text.index("</table>", start)] if start >= 0 else "")

    def handle_starttag(self, tag, attrs):
        given = dict(attrs)
        if tag in ("thead", "tbody"):
            self._in_head = tag == "thead"
        elif tag == "tr" and not self._in_head:
            self.rows.append([])
        elif tag == "caption":
            self._cell = self.caption = [""]
        elif tag in ("th", "td"):
            self._cell = ["", given.get("aria-sort", ""), ""]
            (self.headings if self._in_head else self.rows[-1]).append(self._cell)
        elif tag == "a" and self._cell and len(self._cell) == 3:
            self._cell[2] = self._cell[2] or given.get("href", "")

    def handle_data(self, data):
        if self._cell is not None:
            self._cell[0] += data


def in_words(rows) -> list[list[str]]:
    """Rows of cells as their words alone."""
    return [[" ".join(cell[0].split()) for cell in row] for row in rows]


class Page:
    """One list of a page, as somebody reads it."""

    def __init__(self, client, name: str, where: str, person, /, **asked):
        self.prefix = "unknown-" if name.endswith(" unknown") else ""
        client.force_login(person)
        self.answer = client.get(where, {self.prefix + key: value for key, value in asked.items()})
        self.text = self.answer.content.decode()
        listing = self.answer.context["unknown" if self.prefix else "listing"]
        self.places = [column.key for column in listing.columns]
        self.table = Table(self.text, f"{self.prefix}list")
        self.rows = in_words(self.table.rows)
        self.caption = " ".join("".join(self.table.caption).split())


@pytest.fixture
def filled(built):
    """The two companies, with a second of everything of which they have one; what a test adds is gone after it."""
    with built.standing(of_everything_two) as filled:
        yield filled


def of_everything_two():
    two = things.build()
    world = two.cast.world
    methods.issue_version(code="P-4", title="Peel of lids", by=world.magnus, at=world.at, **cast.METHOD)
    again = replace(world, study=None, specimens=[], run=None)
    again.study = cast.studies.lock(study=cast.plan(again), by=world.edda, at=world.at)
    again.specimens = cast.receive(again)
    again.run = cast.open_run(again)
    companies.enter_all(again, companies.VALUES)
    companies.release(again, "All read.")
    _plan_without_origin(world)
    protocols.put(world, protocols.draft(world, title="A second draft"))
    run = cast.open_run(replace(world, study=Study.objects.get(code=two.clara["studies code"])))
    for label, given in (("SP-999999-X", {}), (two.clara["specimens label"], {"modes": ()})):
        with pytest.raises(cast.results.Refused):
            cast.enter(world, specimen=label, run=run, **given)
    return two


def _plan_without_origin(world) -> None:
    """Two drafts whose limit nobody can explain."""
    for value in (1, 2):
        cast.studies.plan(
            project=world.project,
            by=world.edda,
            at=world.at,
            study=cast.STUDY,
            setup=cast.SETUP | {"method_version": world.method},
            groups=cast.GROUPS,
            limits=[cast.LIMITS[0] | {"origin": "unknown", "origin_words": "", "value": value}],
        )


def where(two, name: str) -> str:
    given = {
        "links-to-report": lambda: [two.cast.clara.study.code],
        "links-to-own-report": lambda: [two.cast.clara.number, two.cast.clara.issue],
    }
    return reverse(name.partition(" ")[0], args=given[name]() if name in given else [])


@pytest.fixture
def show(client, filled):
    def shown(name, /, **asked) -> Page:
        person = User.objects.get(username=LISTS[name][0])
        return Page(client, name, where(filled, name), person, **asked)

    return shown


def natural(text: str) -> list:
    return [(part.isdigit(), int(part) if part.isdigit() else 0, part) for part in re.split(r"(\d+)", text.casefold())]


@pytest.mark.parametrize("name", LISTS)
def test_a_list_has_its_order_both_ways(show, name):
    key = LISTS[name][1]
    plain, up, down = show(name), show(name, sort=key), show(name, sort=f"-{key}")
    place = plain.places.index(key)
    cells = [row[place] for row in plain.rows]
    assert len(set(cells)) > 1, "one row, or the same in all of them, tells no order"
    assert [row[place] for row in up.rows] == sorted(cells, key=natural)
    assert [row[place] for row in down.rows] == sorted(cells, key=natural, reverse=True)
    assert [up.table.headings[place][1], down.table.headings[place][1]] == ["ascending", "descending"]
    assert "aria-sort" not in plain.text
    assert "sorted A to Z; sort Z to A" in up.table.headings[place][0]
    assert "A to Z" in up.caption
    assert "Z to A" in down.caption


@pytest.mark.parametrize("name", LISTS)
def test_every_column_that_sorts_does_so_by_its_own_link(show, client, name):
    plain = show(name)
    linked = [heading[2] for heading in plain.table.headings]
    assert all(len(row) == len(linked) for row in plain.rows)
    for key, url in zip(plain.places, linked, strict=True):
        if key == "end":
            assert url == ""
            continue
        assert f"{plain.prefix}sort={key}#{plain.prefix}list" in url
        answer = client.get(plain.answer.request["PATH_INFO"] + url.partition("#")[0])
        assert answer.status_code == 200
        again = Table(answer.content.decode(), f"{plain.prefix}list")
        assert sorted(in_words(again.rows)) == sorted(plain.rows)


@pytest.mark.parametrize("name", LISTS)
def test_words_must_all_be_in_a_row(show, name):
    plain = show(name)
    place = plain.places.index(LISTS[name][1])
    word = max(plain.rows[-1][place].split(), key=len)
    wanted = [row for row in plain.rows if word.casefold() in " ".join(row).casefold()]
    found = show(name, words=word.upper())
    assert [row[place] for row in found.rows] == [row[place] for row in wanted]
    assert found.caption.startswith(
        f"{len(wanted)} of {len(plain.rows)} " if len(wanted) < len(plain.rows) else f"{len(wanted)} "
    )
    assert show(name, words=f"{word} qqqqq").rows == []


@pytest.mark.parametrize("name", [name for name in LISTS if LISTS[name][2]])
def test_a_choice_keeps_its_rows(show, name):
    plain, (key, value) = show(name), LISTS[name][2]
    found = show(name, **{key: value})
    assert 0 < len(found.rows) <= len(plain.rows)
    assert all(row in plain.rows for row in found.rows)
    assert f'<option value="{value}" selected>' in found.text
    rest = [show(name, **{key: other}).rows for other in options(plain, key) if other != value]
    if key not in ("role", "code"):  # of these a row may have several
        assert len(found.rows) + sum(len(rows) for rows in rest) == len(plain.rows)
    assert show(name, **{key: "no such"}).rows == []


def options(page: Page, key: str) -> list[str]:
    select = page.text.partition(f'<select id="{page.prefix}{key}"')[2].partition("</select>")[0]
    return [value for value in re.findall(r'value="([^"]*)"', select) if value]


@pytest.mark.parametrize("name", LISTS)
def test_what_does_not_fit_is_said_with_the_way_back(show, name):
    plain, empty = show(name), show(name, words="qqqqq")
    assert f"Nothing fits: 0 of {len(plain.rows)} " in empty.text
    assert "Show all" in empty.text
    assert empty.table.rows == []
    if name in FIRST:
        assert FIRST[name][0] not in empty.text


@pytest.mark.parametrize("name", LISTS)
def test_what_is_not_known_is_passed_over(show, name):
    plain = show(name)
    for asked in ({"colour": "red"}, {"sort": "colour"}, {"sort": "--"}, {"sort": "-"}, {"sort": "end"}):
        page = show(name, **asked)
        assert (page.answer.status_code, page.rows, page.caption) == (200, plain.rows, plain.caption)


@pytest.mark.parametrize("name", LISTS)
@pytest.mark.parametrize("typed", [HOSTILE, "\0", "%", "\ud7ff" * 3, "'; drop table", "(" * 500])
def test_hostile_words_are_words(show, name, typed):
    choice = LISTS[name][2] or ("state", "")
    for asked in ({"words": typed}, {choice[0]: typed}, {"sort": typed}):
        page = show(name, **asked)
        assert page.answer.status_code == 200
        assert "<script>alert" not in page.text
        if asked == {"words": HOSTILE}:
            assert 'value="&quot;&gt;&lt;script&gt;alert(1)&lt;/script&gt;"' in page.text
    if typed == HOSTILE and LISTS[name][2]:
        assert show(name, **{choice[0]: HOSTILE}).rows == []


def test_order_and_words_are_kept_by_each_other(show):
    page = show("studies", words="seals", sort="-client", state="released")
    assert '<input type="hidden" name="sort" value="-client">' in page.text
    assert "words=seals&amp;state=released&amp;sort=study#list" in page.text


def test_two_lists_of_a_page_keep_apart(show, filled, client):
    page = show("limits", words="L-", sort="limit")
    assert (
        show("limits unknown", words="qqqqq").answer.context["listing"].count
        == show("limits").answer.context["listing"].count
    )
    other = client.get(where(filled, "limits"), {"words": "L-", "unknown-sort": "study"}).content.decode()
    assert '<input type="hidden" name="words" value="L-">' in other
    assert "unknown-sort=study#list" in other
    assert page.rows


@pytest.mark.parametrize("name", LISTS)
def test_the_number_of_queries_is_the_same_however_it_is_asked(show, name):
    """Sorted, narrowed and plain alike, after a first reading."""
    show(name)
    counted = []
    for asked in ({}, {"sort": f"-{LISTS[name][1]}"}, {"words": "a"}, {"words": "qqqqq"}):
        with CaptureQueriesContext(connection) as captured:
            show(name, **asked)
        counted.append(len(captured))
    assert len(set(counted)) == 1, counted


def add_limit(two, world, number) -> None:
    study = loaded.accepted(world, windows.made(world, sealer=f"bar sealer {number}"))
    for lot in windows.STRENGTHS:
        windows.seen(world, study, lot, "integrity")
    windows.proposed(world, study)


# One more row for a list, each unlike the others.
MORE = {
    "clients": lambda two, world, number: clients.add_client(
        code=number, name=f"Company {number}", address="Sund", contact_name="C", by=world.magnus, at=world.at
    ),
    "methods": lambda two, world, number: methods.issue_version(
        code=f"P-{number}", title="Peel", by=world.magnus, at=world.at, **cast.METHOD
    ),
    "studies": lambda two, world, number: cast.plan(world),
    "budgets": lambda two, world, number: budgets.kept(world),
    "limits": add_limit,
    "links-to-report": lambda two, world, number: links.give(
        report=two.cast.clara, whom=f"Auditor {number}", days=3, by=world.edda, at=world.at
    ),
    "own-protocols": lambda two, world, number: protocols.put(world, protocols.draft(world, title=f"Draft {number}")),
    "equipment": lambda two, world, number: cast.add_equipment(world.people, "cell", f"Cell {number}", 20.0, world.at),
}


@pytest.mark.parametrize("name", MORE)
def test_the_number_of_queries_does_not_grow(show, filled, name):
    show(name)
    with CaptureQueriesContext(connection) as few:
        rows = len(show(name).rows)
    for _ in range(3):
        MORE[name](filled, filled.cast.world, uuid.uuid4().hex[:6])
    with CaptureQueriesContext(connection) as many:
        more = len(show(name).rows)
    assert more == rows + 3
    assert len(many) == len(few)


@pytest.mark.parametrize("name", FIRST)
def test_nothing_on_record_says_what_comes_next(show, name, monkeypatch):
    """Every list with its rows taken away, for somebody who may do what comes next and for somebody who may not."""
    take_rows_away(monkeypatch)
    page, (words, button) = show(name), FIRST[name]
    assert words in page.text
    assert "Nothing fits" not in page.text
    assert 'class="form filters"' not in page.text
    assert page.rows == []
    if button and name not in ("equipment", "methods"):
        assert f">{button}</a>" in page.text


def take_rows_away(monkeypatch) -> None:
    made = Listing.__init__

    def without_rows(self, *args, **given):
        made(self, *args, **given)
        self.given, self.on_record = [], 0

    monkeypatch.setattr(Listing, "__init__", without_rows)


@pytest.mark.parametrize(("name", "act"), [("equipment", "register-equipment"), ("methods", "issue-method")])
def test_only_who_may_is_led_on(client, filled, monkeypatch, name, act):
    take_rows_away(monkeypatch)
    world = filled.cast.world
    label = FIRST[name][1]
    told = {person: Page(client, name, where(filled, name), world.people[person]).text for person in ("magnus", "edda")}
    assert f'href="{reverse(act)}">{label}</a>' in told["magnus"]
    assert label not in told["edda"]
    assert FIRST[name][0] in told["edda"]


def test_a_large_table_says_what_was_left_out(show, monkeypatch):
    plain = show("refusals")
    assert "only the" not in plain.caption
    assert len(plain.rows) > 1
    monkeypatch.setattr(refusal_page, "SHOWN", 1)
    cut = show("refusals")
    assert len(cut.rows) == 1
    left_out = "newest first; only the 1 newest that could fit are looked at"
    assert cut.caption == f"1 of {Refusal.objects.count()} refusals, {left_out}"


def test_words_find_nothing_of_a_value_that_waits(client, filled):
    """Who is to decide must not feel for a number by asking for it; whoever pulled it still finds it."""
    world = filled.cast.world
    held = Deviation.objects.filter(decision=None).first().result
    run = cast.open_run(replace(world, study=held.specimen.study))
    with pytest.raises(cast.results.Refused):
        cast.enter(world, specimen=held.specimen.label, run=run, typed="3.371")
    found = {
        name: Page(client, "refusals", reverse("refusals"), world.people[name], words="3.371").rows
        for name in ("edda", "runa")
    }
    assert found["edda"] == []
    assert len(found["runa"]) == 1
