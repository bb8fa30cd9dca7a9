"""What a client asks for in odd ways reads as if it had never been; each opening is kept.

Who may open which page, by which method, stands with all other addresses in `tests/pages/test_matrix.py`.
"""

from labrecords.models import Event, Opening
from labrecords.portal import urls
from tests.tokens import without_token

CLIENTS = ("clara", "otto")
STAFF = ("runa", "magnus", "edda", "signe", "tester_one")

# Every address by its name, filled with a report's number, issue, specimen and file.
ADDRESSES = {
    "reports": "/reports/",
    "newest": "/reports/{number}/",
    "report": "/reports/{number}/{issue}/",
    "specimen": "/reports/{number}/{issue}/specimens/{label}/",
    "every-file": "/reports/{number}/{issue}/files.zip",
    "file": "/reports/{number}/{issue}/files/{name}",
}
OF_A_REPORT = [name for name in ADDRESSES if name != "reports"]
# What is asked for instead of the person's own: each is answered as if it had never been.
MISSING = {
    "unknown number": {"number": "R-2026-9999"},
    "another form of number": {"number": "x"},
    "a quote and a NUL": {"number": "R'%00"},
    "a line break": {"number": "R-2026-0001%0A"},
    "a very long number": {"number": "R" * 3000},
    "unknown issue": {"issue": 2},
    "no issue ever": {"issue": 0},
    "an issue beyond all numbers": {"issue": 10**30},
    "unknown file or specimen": {"name": "other.pdf", "label": "SP-999999-T"},
    "a way out of the folder": {"name": "..%2F..%2Freport.pdf", "label": "..%2F.."},
    "a NUL in the name": {"name": "report.pdf%00", "label": "SP-000001-A%00"},
}
NAMES_NO_ISSUE = {"newest"}
NAMES_NO_PART = {"newest", "report", "every-file"}


def of(report):
    label = report.study.specimens.order_by("label").first().label
    return {"number": report.number, "issue": report.issue, "label": label, "name": "results.csv"}


def outcome(response):
    """All of an answer that a person can tell apart; the form's token differs in every page."""
    return response.status_code, without_token(response.content), dict(response.headers)


def missing_addresses(name, own):
    for wrong, changed in MISSING.items():
        irrelevant = NAMES_NO_ISSUE if "issue" in changed else NAMES_NO_PART if "name" in changed else set()
        if name not in irrelevant:
            yield wrong, ADDRESSES[name].format(**own | changed)


def test_every_address_is_in_the_table():
    assert {pattern.name for pattern in urls.urlpatterns} == ADDRESSES.keys()


def test_a_client_opens_its_own_and_nothing_tells_the_others_from_the_missing(cast, reader):
    for own, foreign in (CLIENTS, CLIENTS[::-1]):
        browser = reader(own)
        mine, theirs = of(getattr(cast, own)), of(getattr(cast, foreign))
        for name in OF_A_REPORT:
            expected = 302 if name == "newest" else 200
            assert browser.get(ADDRESSES[name].format(**mine)).status_code == expected, name
            refused = outcome(browser.get(ADDRESSES[name].format(**theirs)))
            assert refused[0] == 404, name
            for wrong, address in missing_addresses(name, mine):
                assert outcome(browser.get(address)) == refused, (name, wrong)


def test_parts_of_two_reports_do_not_combine(cast, reader):
    mine, theirs = of(cast.clara), of(cast.otto)
    browser = reader("clara")
    for mixed in (mine | {"label": theirs["label"]}, theirs | {"label": mine["label"]}):
        assert browser.get(ADDRESSES["specimen"].format(**mixed)).status_code == 404


def test_the_laboratorys_own_people_find_nothing_here(cast, reader):
    for name in STAFF:
        browser = reader(name)
        wanted = [ADDRESSES[page].format(**of(report)) for page in ADDRESSES for report in (cast.clara, cast.otto)]
        wanted += [address for page in OF_A_REPORT for _, address in missing_addresses(page, of(cast.clara))]
        answers = [outcome(browser.get(address)) for address in wanted]
        assert answers[0][0] == 404
        assert all(answer == answers[0] for answer in answers), name
    assert Opening.objects.count() == 0


def test_a_person_who_has_left_reads_nothing_more(cast, reader):
    browser = reader("clara")
    type(cast.world.clara).objects.filter(pk=cast.world.clara.pk).update(is_active=False)
    assert browser.get("/reports/").status_code == 302


def test_each_opening_is_kept_once_and_a_refused_one_not_at_all(cast, reader):
    def kept():
        opened = list(Opening.objects.order_by("at").values_list("report__number", "name", "by__username"))
        assert Event.objects.filter(act="report.opened").count() == len(opened)
        return opened

    mine, theirs = of(cast.clara), of(cast.otto)
    browser, number = reader("clara"), cast.clara.number
    for name in ADDRESSES:
        for parts in (theirs, mine | {"number": "R-1", "name": "x", "label": "x"}):
            browser.get(ADDRESSES[name].format(**parts))
    assert kept() == []
    for name in ADDRESSES:
        browser.get(ADDRESSES[name].format(**mine))
    assert kept() == [
        (number, "page", "clara"),
        (number, f"specimen {mine['label']}", "clara"),
        (number, "files.zip", "clara"),
        (number, "results.csv", "clara"),
    ]
