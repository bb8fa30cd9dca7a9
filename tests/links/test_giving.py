"""Who gives a link to a report, for how long, and who ends it."""

import re
from datetime import timedelta

import pytest
from django.db import transaction

from labrecords.actions import clients, links, people
from labrecords.actions.refusals import Refused
from labrecords.models import Event, LinkRevocation, Refusal, ReportLink
from labrecords.queries.access import NotAllowed, NotFound
from tests.links.conftest import ADDRESS, open_at, signed_in
from tests.portal.reading import Page
from tests.portal.test_who import outcome
from tests.walls.refused import refused_as

BASE64URL = re.compile(r"[A-Za-z0-9_-]{43}")  # 32 bytes: RFC 4648, section 5, without padding


def of_study(cast):
    return f"/studies/{cast.clara.study.code}/links/"


def of_own(report):
    return f"/reports/{report.number}/{report.issue}/links/"


def post(person, address, **changed):
    return signed_in(person).post(address, {"whom": "Ines Falk, auditor", "days": "14"} | changed)


def told(answer) -> str:
    return Page(answer.content.decode()).text


@pytest.fixture
def colleague(cast):
    world = cast.world
    return people.add_person(
        username="cato",
        name="Cato Fjell",
        password=None,
        roles={"client"},
        client=world.clara.client,
        by=world.magnus,
        at=world.at,
    )


@pytest.mark.parametrize("who", ["edda", "magnus", "clara"])
def test_a_link_is_given_and_shown_once(cast, clock, who):
    address = of_own(cast.clara) if who == "clara" else of_study(cast)
    answer = post(cast.world.people[who], address)
    path, secret = ADDRESS.search(answer.content.decode()).groups()
    assert BASE64URL.fullmatch(secret)
    assert answer["Cache-Control"] == "no-store"
    link = ReportLink.objects.get()
    assert (link.report, link.by, link.whom) == (cast.clara, cast.world.people[who], "Ines Falk, auditor")
    assert link.until - link.at == timedelta(days=14)
    assert open_at(secret).status_code == 200
    listed = signed_in(cast.world.people[who]).get(address).content.decode()
    assert secret not in listed
    assert link.digest not in listed
    assert "Ines Falk, auditor" in listed
    assert path.startswith("/shared/")


def test_only_the_hash_of_the_secret_is_kept(cast, give):
    link, secret = give()
    kept = [str(value) for value in ReportLink.objects.filter(pk=link.pk).values_list().get()]
    events = list(Event.objects.filter(act="link.given").values_list("body", flat=True))
    assert len(events) == 1
    assert str(link.pk) in events[0]
    assert not any(secret in text for text in (*kept, *events))
    assert not any(link.digest in body for body in events)
    assert open_at(link.digest).status_code == 404  # whoever reads the table reads no report


@pytest.mark.parametrize("who", ["runa", "signe", "tester_one", "otto"])
def test_nobody_else_gives_one(cast, clock, who):
    person = cast.world.people[who]
    for address in (of_study(cast), of_own(cast.clara)):
        assert post(person, address).status_code in (403, 404)
        assert signed_in(person).get(address).status_code in (403, 404)
    with pytest.raises((NotAllowed, NotFound)):
        links.give(report=cast.clara, whom="Me", days=1, by=person, at=clock.now)
    assert ReportLink.objects.count() == 0


def test_another_companys_report_reads_like_none(cast, clock):
    browser = signed_in(cast.world.clara)
    missing = [
        of_own(cast.otto),
        *(f"/reports/{part}/links/" for part in ("R-2026-9999/1", "R'%00/1", f"{cast.clara.number}/2")),
    ]
    for method in ("get", "post"):
        answers = [outcome(getattr(browser, method)(address, {"whom": "Me", "days": "1"})) for address in missing]
        assert answers[0][0] == 404
        assert all(answer == answers[0] for answer in answers)
    assert ReportLink.objects.count() == 0


@pytest.mark.parametrize(
    ("typed", "kept"),
    [
        ({"whom": " "}, "14"),
        ({"days": ""}, 'name="days"'),
        ({"days": "0"}, 'value="0"'),
        ({"days": "-3"}, 'value="-3"'),
        ({"days": "1.5"}, 'value="1.5"'),
        ({"days": "a week"}, 'value="a week"'),
        ({"days": "91"}, 'value="91"'),
        ({"days": "999999999999"}, 'value="999999999999"'),
    ],
)
def test_what_cannot_be_given_changes_nothing_and_loses_nothing(cast, clock, typed, kept):
    answer = post(cast.world.clara, of_own(cast.clara), **typed)
    assert answer.status_code == 422
    assert kept in answer.content.decode()
    assert "whom" in typed or "Ines Falk, auditor" in answer.content.decode()
    assert ReportLink.objects.count() == 0


def test_a_link_for_more_than_ninety_days_is_refused_and_the_refusal_kept(cast, clock):
    answer = post(cast.world.edda, of_study(cast), days="91")
    assert "Notrecorded:thelinkwouldlivetoolong." in told(answer)
    assert Refusal.objects.latest("at", "id").codes == ["link-too-long"]
    assert post(cast.world.edda, of_study(cast), days="90").status_code == 200
    assert ReportLink.objects.count() == 1


def test_a_link_says_for_whom_it_is(cast, clock, give):
    with pytest.raises(Refused) as refused:
        give(whom="  ")
    assert [answer.code for answer in refused.value.answers] == ["words-missing"]
    assert ReportLink.objects.count() == 0


def test_nor_does_the_database_take_one(cast, clock):
    def row(until):
        fields = {"report": cast.clara, "by": cast.world.edda, "whom": "Me", "at": clock.now}
        return ReportLink(digest="0" * 64, until=clock.now + until, **fields)

    for until in (timedelta(days=90, seconds=1), timedelta(0), timedelta(days=-1)):
        with refused_as("link-life"), transaction.atomic():
            row(until).save()
    row(timedelta(days=90)).save()


def test_a_fortnight_is_proposed(cast, clock):
    assert 'value="14"' in signed_in(cast.world.clara).get(of_own(cast.clara)).content.decode()


def ends(person, link, *, own: bool) -> bool:
    """Whether the person ended it, from the next request on."""
    signed_in(person).post(f"{'/reports' if own else ''}/links/{link.pk}/revoke/")
    return LinkRevocation.objects.filter(link=link).exists()


@pytest.mark.parametrize("giver", ["clara", "edda"])
def test_who_may_end_a_link(cast, give, colleague, giver):
    world = cast.world
    for person, own, may in [
        (world.runa, False, False),
        (world.signe, False, False),
        (world.otto, True, False),
        (colleague, False, False),
        (world.edda, False, True),
        (world.magnus, False, True),
        (colleague, True, giver == "clara"),
        (world.clara, True, giver == "clara"),
    ]:
        link, secret = give(by=world.people[giver])
        assert open_at(secret).status_code == 200
        assert ends(person, link, own=own) is may, person
        assert open_at(secret).status_code == (404 if may else 200), person


def test_a_link_that_may_not_be_ended_reads_like_none(cast, give):
    link, _ = give(by=cast.world.edda)
    browser = signed_in(cast.world.clara)
    answers = [outcome(browser.post(f"/reports/links/{pk}/revoke/")) for pk in (link.pk, cast.clara.pk)]
    assert answers[0] == answers[1]
    assert answers[0][0] == 404


def test_a_link_is_ended_once(cast, give):
    link, _ = give()
    for _ in range(2):
        links.revoke(link=link, by=cast.world.clara, at=cast.world.at)
    assert LinkRevocation.objects.count() == Event.objects.filter(act="link.revoked").count() == 1


def test_a_link_ends_at_its_moment(cast, give, clock):
    link, secret = give(days=3)
    clock.now = link.until - timedelta(microseconds=1)
    assert open_at(secret).status_code == 200
    clock.now = link.until
    assert open_at(secret).status_code == 404


def test_both_lists_say_who_gave_what_to_whom_and_what_became_of_it(cast, give, clock):
    world = cast.world
    _, used = give(whom="Used Ulla")
    clock.forward(minutes=1)
    ended, _ = give(whom="Ended Emil", by=world.edda)
    clock.forward(minutes=1)
    give(whom="Short Sune", days=1)
    give(whom="Elsewhere Elin", report=cast.second)
    clock.forward(hours=1)
    open_at(used)
    open_at(used, "files/results.csv")
    clock.forward(hours=1)
    open_at(used)
    links.revoke(link=ended, by=world.magnus, at=clock.now)
    clock.forward(days=1)
    for person, address in ((world.edda, of_study(cast)), (world.clara, of_own(cast.clara))):
        page = signed_in(person).get(address).content.decode()
        rows = [Page(row).text for row in re.findall(r"<tr>(.*?)</tr>", page, re.DOTALL)[1:]]
        short, gone, opened = rows
        assert opened.startswith("UsedUlla1HoldsClaraFjell,FjellInstruments20May2026,")
        assert re.search(r"3Jun2026,\d\d:\d\d220May2026,", opened)  # until then; opened twice, last on that day
        assert gone.startswith("EndedEmil1Revoked20May2026,")
        assert "byMagnus" in gone
        assert "Edda" in gone
        assert "never" in gone
        assert short.startswith("ShortSune1Expired")
        assert ("Revoke" in opened, "never" in short) == (True, True)
        assert "Elin" not in page


def test_the_pages_lead_to_the_links(cast, clock):
    world = cast.world
    study = f"/studies/{cast.clara.study.code}/"
    assert of_study(cast) in Page(signed_in(world.edda).get(study).content.decode()).addresses
    assert of_study(cast) not in Page(signed_in(world.runa).get(study).content.decode()).addresses
    report = f"/reports/{cast.clara.number}/1/"
    assert of_own(cast.clara) in Page(signed_in(world.clara).get(report).content.decode()).addresses


def test_a_study_without_a_report_has_none(cast, clock):
    project = clients.add_project(
        client=cast.world.clara.client, code="NEW", title="New", by=cast.world.edda, at=cast.world.at
    )
    assert project.studies.count() == 0
    assert signed_in(cast.world.edda).get("/studies/S-2026-9999/links/").status_code == 404
