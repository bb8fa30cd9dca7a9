"""The list and the pages of a report: from what was stored, and which issue holds."""

from django.db import connection
from django.test.utils import CaptureQueriesContext

from labrecords.actions import clients, people
from labrecords.models import Report, Signature
from labrecords.models.base import new_id
from tests.portal.conftest import browser_of
from tests.portal.reading import Page, squeezed
from tests.portal.test_who import ADDRESSES, of


def page(browser, address) -> Page:
    answer = browser.get(address)
    assert answer.status_code == 200
    return Page(answer.content.decode())


def test_the_list_names_each_report_once(cast, reader):
    listed = page(reader("clara"), "/reports/")
    assert listed.addresses.count(f"/reports/{cast.clara.number}/1/") == 1
    for said in (cast.clara.number, cast.clara.title, "20 May 2026", "Current", "Small pouch", "FJ-01"):
        assert squeezed(said) in listed.text
    assert listed.headings == [1]


def test_a_company_without_a_report_is_told_so(cast):
    world = cast.world
    company = clients.add_client(
        code="NEW", name="Newcomers", address="Sund", contact_name="Nora", by=world.magnus, at=world.at
    )
    nora = people.add_person(
        username="nora", name="Nora", password=None, roles={"client"}, client=company, by=world.magnus, at=world.at
    )
    listed = page(browser_of(nora), "/reports/")
    assert squeezed("No report has been released to you yet.") in listed.text
    assert listed.all("table") == []


def test_the_page_is_drawn_from_the_stored_content_alone(cast, reader):
    browser = reader("clara")
    address = ADDRESSES["report"].format(**of(cast.clara))
    before = page(browser, address)
    study = cast.clara.study
    type(study.project.client).objects.filter(pk=study.project.client_id).update(name="Renamed Instruments")
    assert page(browser, address).text == before.text
    assert "FjellInstruments" in before.text


def test_the_report_page_has_one_heading_tree_and_leads_to_its_parts(cast, reader):
    drawn = page(reader("clara"), ADDRESSES["report"].format(**of(cast.clara)))
    assert drawn.headings.count(1) == 1
    assert drawn.headings[0] == 1
    assert all(after - before <= 1 for before, after in zip(drawn.headings, drawn.headings[1:], strict=False))
    assert len(drawn.ids) == len(set(drawn.ids))
    within = {address[1:] for address in drawn.addresses if address.startswith("#")}
    assert within <= set(drawn.ids)
    drawings = [file.name for file in cast.clara.files.all() if file.name.endswith(".svg")]
    assert [image["src"].rsplit("/", 1)[1] for image in drawn.all("img")] == sorted(drawings, reverse=True)
    assert all(image["alt"] for image in drawn.all("img"))


def test_a_specimen_says_what_the_report_says_and_leads_back(cast, reader):
    parts = of(cast.clara)
    drawn = page(reader("clara"), ADDRESSES["specimen"].format(**parts))
    for said in (parts["label"], f"{cast.clara.number}, issue 1", "1.20 lbf/in", "AP", "Runa Vik", "20 May 2026"):
        assert squeezed(said) in drawn.text
    assert ADDRESSES["report"].format(**parts) + f"#specimen-{parts['label']}" in drawn.addresses


def test_a_void_specimen_says_why(cast, reader):
    void = cast.otto.study.specimens.order_by("label").last().label
    drawn = page(reader("otto"), ADDRESSES["specimen"].format(**of(cast.otto) | {"label": void}))
    for said in ("void, not counted", "strip damaged in cutting", "zqvoidvx"):
        assert squeezed(said) in drawn.text


def again(record, **changed):
    """The same record under another key, as its table would hold it."""
    fields = {field.attname: getattr(record, field.attname) for field in record._meta.concrete_fields}
    return type(record).objects.create(**fields | {"id": new_id()} | changed)


def test_the_number_leads_to_the_newest_issue_and_the_older_one_says_so(cast, reader):
    browser, first = reader("clara"), cast.clara
    number = first.number
    assert browser.get(f"/reports/{number}/")["Location"] == f"/reports/{number}/1/"
    signature = again(Signature.objects.get(pk=first.signature_id))
    again(Report.objects.get(pk=first.pk), issue=2, signature_id=signature.pk)
    assert browser.get(f"/reports/{number}/")["Location"] == f"/reports/{number}/2/"
    listed = page(browser, "/reports/").text
    assert listed.count("Current") == 1
    assert "Replacedbyissue2" in listed
    older, newer = page(browser, f"/reports/{number}/1/"), page(browser, f"/reports/{number}/2/")
    assert squeezed("This issue has been replaced.") in older.text
    assert f"/reports/{number}/2/" in older.addresses
    assert "Current" not in older.text
    assert "Current" in newer.text
    assert f"/reports/{number}/1/" in newer.addresses


def test_queries_do_not_grow_with_the_reports(cast, reader):
    browser, number = reader("clara"), cast.clara.number

    def asked():
        with CaptureQueriesContext(connection) as queries:
            browser.get("/reports/")
        return len(queries)

    browser.get("/reports/")  # the first request after signing in notes when that was
    few = asked()
    for issue in range(2, 12):
        signature = again(Signature.objects.get(pk=cast.clara.signature_id))
        again(Report.objects.get(pk=cast.clara.pk), issue=issue, signature_id=signature.pk)
    assert asked() == few
    assert number in browser.get("/reports/").content.decode()
