"""Behind a link there is one issue of one report: nothing of another client, and nothing else of the same one."""

import re
from urllib.parse import urljoin

import pytest
from django.db import IntegrityError, ProgrammingError, connection
from django.test import Client

from labrecords.actions import links
from labrecords.actions.access import record_opening
from labrecords.models import Event, Opening, Protocol, Report, ReportFile, Seal, Signature
from labrecords.queries import access, audit, portal
from tests.links.conftest import another_issue, build, open_at, signed_in
from tests.portal.reading import Page, squeezed
from tests.portal.test_bytes import NOT_IN_A_REPORT, readable
from tests.portal.test_rows import WALLED, count


def crawl(start: str, *more: str):
    """Everything that whoever has a link can reach: address to answer."""
    found, waiting = {}, [start, *more]
    while waiting:
        address = waiting.pop().partition("#")[0]
        if address in found or address.startswith("/static/"):
            continue
        found[address] = answer = Client().get(address)
        if answer["Content-Type"].startswith("text/html"):
            waiting += [urljoin(address, to) for to in Page(answer.content.decode()).addresses]
    return found


def test_the_crawl_reaches_every_kind_of_thing_and_stays_there(cast, give):
    _, secret = give()
    base = f"/shared/{secret}/"
    found = crawl(base)
    files = {f"{base}files/{file.name}" for file in cast.clara.files.all()}
    specimens = {f"{base}specimens/{specimen.label}/" for specimen in cast.clara.study.specimens.all()}
    assert found.keys() == {base, f"{base}files.zip", *files, *specimens}
    assert {answer.status_code for answer in found.values()} == {200}
    kinds = {answer["Content-Type"].partition(";")[0] for answer in found.values()}
    assert {"text/html", "application/json", "text/csv", "application/pdf", "application/zip"} <= kinds


def text_of(found, folder) -> str:
    return squeezed("".join(readable(found, folder)))


def test_nothing_of_anything_else_is_in_anything_a_link_fetches(cast, give, tmp_path):
    another_issue(cast.clara, title="yjsecondissuevx")
    _, secret = give()
    base = f"/shared/{secret}/"
    others = [
        urljoin(base, part)
        for report in (cast.otto, cast.second)
        for part in (
            *(f"files/{report.number}-{file.name}" for file in report.files.all()),
            *(f"specimens/{specimen.label}/" for specimen in report.study.specimens.all()),
            f"{report.number}/1/",
        )
    ]
    seen = text_of(crawl(base, *others), tmp_path)
    assert "FjellInstruments" in seen
    words = (*cast.secrets, cast.otto.number, *cast.second_secrets, cast.second.number, "yjsecondissuevx")
    assert [word for word in words if word in seen] == []
    labels = [s.label for report in (cast.otto, cast.second) for s in report.study.specimens.all()]
    assert len(labels) == 8
    assert [label for label in labels if label in seen] == []


@pytest.mark.parametrize("whose", ["otto", "second"])
def test_control_each_word_is_seen_behind_a_link_to_its_own_report(cast, give, tmp_path, whose):
    report, words = {
        "otto": (cast.otto, cast.secrets),
        "second": (cast.second, cast.second_secrets),
    }[whose]
    _, secret = give(report=report, by=cast.world.edda)
    seen = text_of(crawl(f"/shared/{secret}/"), tmp_path)
    unseen = {re.sub("^(yj|YJ)", "zq", word).lower() for word in words if word not in seen}
    assert unseen <= NOT_IN_A_REPORT | {"zqcodevx", "zqprojectvx", "zqpersonvx"}  # those stand in a client's own list


@pytest.fixture
def issues(cast):
    """Another issue of the same report, with a file: as near to what the link opens as anything is."""
    second = another_issue(cast.clara, title="yjsecondissuevx")
    ReportFile.objects.create(
        report=second,
        name="yjfilevx.csv",
        media_type="text/csv",
        title="yjfilevx",
        content=b"yjbytesvx",
        size=9,
        sha256="0" * 64,
        at=cast.world.at,
    )
    return second


@pytest.mark.parametrize("table", WALLED)
def test_the_database_shows_one_row_of_each_kind_whatever_is_asked(cast, give, issues, table):
    link, _ = give()
    wanted = cast.clara.files.count() if table == "reportfile" else 1
    assert count(table) > wanted
    with portal.as_portal(cast.world.clara.client_id, link=link):
        assert count(table) == wanted
    with portal.as_portal(cast.world.clara.client_id):
        assert table == "client" or count(table) > wanted  # control: the client's own pages see more
    with portal.as_portal(cast.world.otto.client_id, link=link):
        assert count(table) == (1 if table == "client" else 0)


def test_links_and_failures_are_closed_to_the_role(cast, give):
    link, _ = give()
    for table in ("reportlink", "linkrevocation", "linkfailure", "opening", "result", "user"):
        with pytest.raises(ProgrammingError, match="permission denied"):  # noqa: SIM117 - the block is what fails
            with portal.as_portal(cast.world.clara.client_id, link=link):
                count(table)


FILTERS = {
    "the report": (
        "linked",
        lambda link: (
            Report.objects.select_related("study__project__client").exclude(pk=link.report_id).order_by("title").first()
        ),
    ),
    "the files": ("files", lambda report: list(ReportFile.objects.all())),
    "one file": ("file", lambda report, name: ReportFile.objects.filter(name=name).exclude(report=report).first()),
}


@pytest.mark.parametrize("taken", FILTERS)
def test_pages_that_forget_a_filter_show_nothing_else(cast, give, issues, monkeypatch, taken, tmp_path):
    _, secret = give()
    name, query = FILTERS[taken]
    asked = []

    def forgetful(*given):
        asked.append(found := query(*given))
        if found is None:
            raise access.NotFound("nothing is shown")
        return found

    monkeypatch.setattr(portal, name, forgetful)
    base = f"/shared/{secret}/"
    found = crawl(base, *(f"{base}files/{name}" for name in ("results.csv", "yjfilevx.csv")))
    assert asked
    seen = text_of(found, tmp_path)
    words = (*cast.secrets, *cast.second_secrets, "yjsecondissuevx", "yjfilevx.csv:", "yjbytesvx")
    assert [word for word in words if word in seen] == []


@pytest.mark.parametrize("taken", FILTERS)
def test_control_without_the_wall_such_a_page_would_show_it(cast, give, issues, taken):
    link, _ = give()
    arguments = {"linked": [link], "files": [cast.clara], "file": [cast.clara, "results.csv"]}
    name, query = FILTERS[taken]
    found = query(*arguments[name])
    rows = found if isinstance(found, list) else [found]
    assert {getattr(row, "report_id", row.pk) for row in rows} - {cast.clara.pk}


def test_an_opening_is_kept_for_the_links_own_report_and_under_its_own_name_only(cast, give):
    link, _ = give()
    other, _ = give(report=cast.second)
    own, client = cast.clara, cast.world.clara.client_id
    at = cast.world.at
    tried = [
        (link, {"report": cast.otto, "link": link}),
        (link, {"report": cast.second, "link": link}),
        (link, {"report": own, "link": other}),
        (link, {"report": own, "by": cast.world.clara}),
        (None, {"report": own, "link": link}),
        (link, {"report": own}),
        (link, {"report": own, "link": link, "by": cast.world.clara}),
    ]
    for said, given in tried:
        with pytest.raises((ProgrammingError, IntegrityError)):  # noqa: SIM117 - the block is what fails
            with portal.as_portal(client, link=said):
                record_opening(name="page", at=at, **given)
    assert Opening.objects.count() == 0
    with portal.as_portal(client, link=link):
        record_opening(report=own, link=link, name="page", at=at)
    assert Opening.objects.count() == 1


def test_nothing_said_stays_for_the_next_reader(cast, give):
    _, secret = give()
    browser = signed_in(cast.world.clara)
    for _ in range(20):
        assert open_at(secret).status_code == 200
        listed = browser.get("/reports/").content.decode()
        assert cast.clara.number in listed
        assert cast.second.number in listed
    assert Report.objects.count() == 3


def test_the_protocol_of_the_same_study_is_shown_to_its_client_and_not_behind_a_link(cast, give):
    link, _ = give()
    edda, study = cast.world.edda, cast.clara.study
    signed = {
        "signer": edda,
        "signer_name": edda.name,
        "meaning": "put",
        "content_sha256": "0" * 64,
        "at": edda.created_at,
    }
    signature = Signature.objects.create(**signed, authenticated_by="password")
    put = {"version": 9, "content": "{}", "content_sha256": "0" * 64, "signature": signature, "by": edda}
    protocol = Protocol.objects.create(study=study, at=edda.created_at, **put)
    with portal.as_portal(cast.world.clara.client_id):
        assert Protocol.objects.filter(pk=protocol.pk).exists()
    with portal.as_portal(cast.world.clara.client_id, link=link):
        assert count("protocol") == 0
        assert count("signature") == 1


@pytest.mark.django_db(transaction=True)
def test_what_is_given_opened_and_ended_is_sealed_and_leaves_nothing_said():
    cast = build()
    before = Seal.objects.count()
    link, secret = links.give(report=cast.clara, whom="Ines", days=90, by=cast.world.edda, at=cast.world.at)
    with portal.as_portal(cast.world.clara.client_id, link=link):
        record_opening(report=cast.clara, link=link, name="page", at=cast.world.at)
    links.revoke(link=link, by=cast.world.edda, at=cast.world.at)
    events = Event.objects.order_by("-pk")[:3]
    assert [event.act for event in events] == ["link.revoked", "report.opened", "link.given"]
    assert Seal.objects.count() == before + 3
    assert secret not in "".join(event.body for event in events)
    assert audit.check_chain().why == ""
    with connection.cursor() as cursor:
        for name in ("client", "link", "report", "study", "project"):
            cursor.execute("select current_setting(%s, true)", [f"labrecords.{name}"])
            assert cursor.fetchone()[0] in (None, "")
