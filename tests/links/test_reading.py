"""What a link opens: the client's own page and files, and nothing that leads elsewhere."""

import itertools
import logging

import pytest
from django.test import Client

from labrecords.actions import amendments
from labrecords.actions import links as actions
from labrecords.models import Event, Opening
from labrecords.portal import link_urls, links
from tests import world as lab
from tests.links.conftest import another_issue, open_at, signed_in
from tests.portal.reading import Page, squeezed

METHODS = ("get", "post", "put", "patch", "delete", "head", "options", "trace")
HEADERS = {"Referrer-Policy": "no-referrer", "Cache-Control": "no-store", "X-Robots-Tag": "noindex"}


def parts(cast) -> dict[str, str]:
    """Every address behind a link, by its name."""
    label = cast.clara.study.specimens.order_by("label").first().label
    return {
        "report": "",
        "specimen": f"specimens/{label}/",
        "every-file": "files.zip",
        "file": "files/results.csv",
        "nothing": "elsewhere/",
    }


def dead(cast, give) -> dict[str, str]:
    """Links that open nothing, and why."""
    _, secret = give()
    revoked, revoked_secret = give()
    actions.revoke(link=revoked, by=cast.world.clara, at=cast.world.at)
    last = "A" if secret[-1] != "A" else "B"
    return {
        "revoked": revoked_secret,
        "altered": secret[:-1] + last,
        "cut off": secret[:-1],
        "longer": secret + "A",
        "in capitals": secret.upper(),
        "with a blank": secret + "%20",
        "with a NUL": secret + "%00",
        "never given": "A" * 43,
        "no secret at all": "x",
    }


def outcome(answer):
    return answer.status_code, answer.content, dict(answer.headers)


def body(html: str) -> str:
    """The report itself, from its first words to its last."""
    page = Page(html[html.index('<ul class="actions" aria-label="Take the report') : html.index("</main>")])
    return page.text


def test_every_address_is_in_the_table(cast):
    assert {pattern.name for pattern in link_urls.urlpatterns} == parts(cast).keys() | {"cut-off"}


def test_the_page_is_the_clients_own(cast, give):
    _, secret = give()
    shown = open_at(secret).content.decode()
    own = signed_in(cast.world.clara).get(f"/reports/{cast.clara.number}/1/").content.decode()
    assert body(shown) == body(own).replace("Linksforothers", "")
    assert "FjellInstruments" in body(shown)
    assert squeezed("Clara Fjell, Fjell Instruments, gave this link for Ines Falk, auditor.") in Page(shown).text


def test_the_files_are_the_stored_bytes(cast, give):
    _, secret = give()
    own = signed_in(cast.world.clara)
    files = [f"files/{file.name}" for file in cast.clara.files.all()]
    assert len(files) > 5
    for part in (*files, "files.zip"):
        shown, theirs = open_at(secret, part), own.get(f"/reports/{cast.clara.number}/1/{part}")
        assert shown.status_code == 200
        assert shown.content == theirs.content
        for name in ("ETag", "Content-Disposition", "Content-Type", "Content-Security-Policy"):
            assert shown[name] == theirs[name]


def test_nothing_leads_elsewhere_and_the_page_does_not_hold_its_secret(cast, give):
    link, secret = give()
    for name in ("report", "specimen"):
        html = open_at(secret, parts(cast)[name]).content.decode()
        assert secret not in html
        assert link.digest not in html
        led = [address for address in Page(html).addresses if not address.startswith(("/static/", "#"))]
        assert led
        assert not [address for address in led if address.startswith("/") or ":" in address]


def test_whoever_is_signed_in_reads_as_anybody(cast, give):
    _, secret = give()
    for person in (cast.world.clara, cast.world.otto, cast.world.edda):
        answer = open_at(secret, browser=signed_in(person))
        assert outcome(answer) == outcome(open_at(secret))
        assert answer.cookies == {}
    assert set(Opening.objects.values_list("by", flat=True)) == {None}


def test_what_became_of_the_issue_is_said(cast, give):
    _, secret = give()
    assert "Current" in Page(open_at(secret).content.decode()).text
    another_issue(cast.clara)
    html = open_at(secret).content.decode()
    assert squeezed("This issue has been replaced by issue 2, which holds.") in Page(html).text
    assert "/2/" not in html
    amendments.withdraw(
        report=cast.clara, reason="The wrong lot.", password=lab.PASSWORD, by=cast.world.signe, at=cast.world.at
    )
    text = Page(open_at(secret).content.decode()).text
    assert squeezed("This issue has been withdrawn and holds no longer: The wrong lot.") in text
    assert "Current" not in text


def test_dead_links_read_the_same_whatever_the_method(cast, give, clock):
    missing = Client().get("/no-such-address/")
    for method in METHODS:
        expected = None
        for why, secret in dead(cast, give).items():
            for part in parts(cast).values():
                clock.forward(hours=2)  # or guessing would be slowed
                found = outcome(open_at(secret, part, method=method))
                expected = expected or found
                assert found == expected, (method, why, part)
        assert expected[0] == 404
        assert expected[1] == (b"" if method == "head" else missing.content)


def test_an_expired_link_reads_like_them(cast, give, clock):
    _, secret = give(days=1)
    clock.forward(days=1)
    for method, part in itertools.product(METHODS, parts(cast).values()):
        clock.forward(hours=2)
        expected = outcome(open_at("A" * 43, part, method=method))
        clock.forward(hours=2)
        assert outcome(open_at(secret, part, method=method)) == expected, (method, part)


def test_a_link_that_holds_is_only_read(cast, give):
    _, secret = give()
    for method in METHODS[1:]:
        for name, part in parts(cast).items():
            assert open_at(secret, part, method=method).status_code == 405, (method, name)
    assert Opening.objects.count() == 0
    assert {name: open_at(secret, part).status_code for name, part in parts(cast).items()} == {
        **dict.fromkeys(("report", "specimen", "every-file", "file"), 200),
        "nothing": 404,
    }


def test_what_is_not_in_the_report_is_not_there(cast, give):
    _, secret = give()
    label = cast.second.study.specimens.first().label
    theirs = cast.otto.study.specimens.first().label
    missing = [
        *("files/other.pdf", "files/..%2Freport.pdf", "files/results.csv%00", "files/", "files"),
        *(f"specimens/{name}/" for name in (label, theirs, "SP-999999-T", "..%2F..", "x%00")),
        *("issues/", "../", "2/", f"{cast.second.number}/1/", "files.zip/"),
    ]
    answers = {part: outcome(open_at(secret, part)) for part in missing if part != "../"}
    answers["without a slash"] = outcome(Client().get(f"/shared/{secret}"))
    expected = outcome(open_at("A" * 43))
    assert [part for part, answer in answers.items() if answer != expected] == []
    assert Opening.objects.count() == 0


def test_every_answer_says_to_keep_the_address_secret(cast, give, clock, monkeypatch):
    _, secret = give()
    answers = [open_at(secret, part, method=method) for part in parts(cast).values() for method in METHODS]
    answers += [open_at("wrong"), open_at("wrong", HTTP_HOST="elsewhere.example"), Client().get(f"/shared/{secret}")]
    for _ in range(30):
        answers.append(open_at("wrong"))
    clock.forward(hours=2)
    monkeypatch.setattr(links.reports, "frozen", lambda *_, **__: 1 / 0)
    answers.append(open_at(secret))
    assert {answer.status_code for answer in answers} == {200, 400, 404, 405, 429, 500}
    for answer in answers:
        assert {name: answer.get(name) for name in HEADERS} == HEADERS, answer.status_code


def test_control_other_addresses_do_not_say_so(cast):
    answer = Client().get("/sign-in/")
    assert answer["Referrer-Policy"] == "same-origin"
    assert "X-Robots-Tag" not in answer


def test_a_request_that_is_only_led_on_keeps_its_address(cast, give, settings):
    settings.SECURE_SSL_REDIRECT = True
    _, secret = give()
    answer = open_at(secret)
    assert (answer.status_code, answer["Location"]) == (301, f"https://testserver/shared/{secret}/")
    assert {name: answer.get(name) for name in HEADERS} == HEADERS
    assert open_at(secret, secure=True).status_code == 200


@pytest.fixture
def logged(caplog):
    caplog.set_level(logging.DEBUG)
    for name in ("django", "django.request", "django.server", "django.security", "django.db.backends"):
        logging.getLogger(name).addHandler(caplog.handler)
    yield caplog
    for name in ("django", "django.request", "django.server", "django.security", "django.db.backends"):
        logging.getLogger(name).removeHandler(caplog.handler)


def lines(logged) -> str:
    return "\n".join(f"{record.getMessage()} {vars(record)}" for record in logged.records)


def test_the_secret_is_in_no_log_line(cast, give, logged, monkeypatch):
    _, secret = give()
    typed = ("/shared/{}/", "/shared/{}", "//shared/{}/", "/SHARED//{}/files/x")
    for path in typed:
        browser, sent = Client(raise_request_exception=False), {"PATH_INFO": path.format(secret)}  # as it came
        browser.get("/", **sent)
        browser.post("/", **sent)
        browser.get("/", **sent, HTTP_HOST="elsewhere.example")
    monkeypatch.setattr(links.reports, "frozen", lambda *_, **__: 1 / 0)
    assert open_at(secret).status_code == 500
    said = lines(logged)
    for expected in ("Not Found: /shared/(secret)/", "Internal Server Error: /shared/(secret)/", "Method Not Allowed"):
        assert expected in said
    assert secret not in said


def test_control_such_a_line_would_be_seen(cast, logged, settings):
    settings.MIDDLEWARE = [name for name in settings.MIDDLEWARE if not name.endswith("SecretAddress")]
    Client().get("/shared/a-secret-of-somebody/")
    assert "a-secret-of-somebody" in lines(logged)


def test_each_opening_is_kept_with_its_link_and_without_a_person(cast, give, clock):
    link, secret = give()
    other, _ = give()
    for part in parts(cast).values():
        open_at(secret, part)
    label = parts(cast)["specimen"].split("/")[1]
    rows = Opening.objects.order_by("id").values_list("report", "name", "link", "by", "at")
    names = ("page", f"specimen {label}", "files.zip", "results.csv")
    assert list(rows) == [(cast.clara.pk, name, link.pk, None, clock.now) for name in names]
    events = Event.objects.filter(act="report.opened").order_by("pk")
    assert [event.actor for event in events] == ["Somebody with a link"] * 4
    for event in events:
        assert str(link.pk) in event.body
        assert str(other.pk) not in event.body
        assert secret not in event.body
