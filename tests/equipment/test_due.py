"""What stops work and what falls due: the list, the calendar as another program reads it, and the daily mail."""

import json
from datetime import UTC, date, datetime, timedelta

import icalendar
import pytest
from django.core import mail
from django.core.management import call_command
from django.db import connection
from django.urls import reverse

from labrecords.actions import equipment, jobs, people
from labrecords.models import Authorisation, CalendarFeed
from labrecords.queries import due
from labrecords.tasks import digests
from tests import world as cast

WEDNESDAY = cast.NOW  # 20 May 2026


def rows(world, moment=WEDNESDAY):
    return {row.what: row for row in due.everything(moment)}


def recalibrate(world, item, due_on):
    cast.calibrate(world.people, item, world.at, performed_on=date(2026, 5, 1), due_on=due_on)


def row_of(world, item, moment=WEDNESDAY):
    return rows(world, moment)[f"{item.name} ({item.label})"]


@pytest.mark.parametrize(
    ("days", "group"),
    [(-1, due.NOW), (0, due.SOON), (14, due.SOON), (15, due.NEXT), (60, due.NEXT), (61, due.LATER)],
)
def test_parts_of_the_list(world, days, group):
    recalibrate(world, world.cell, date(2026, 5, 20) + timedelta(days=days))
    row = row_of(world, world.cell)
    assert (row.group, row.days) == (group, days)


def test_what_it_blocks_is_named(world):
    assert row_of(world, world.cell).blocks == (f"run 1 of {world.study.code}",)
    held = rows(world)["Runa Vik, technique A of P-3 version 1"]
    assert held.blocks == (f"{world.study.code}: one tester fewer",)


def test_out_of_service_stops_work_whatever_its_date(world):
    equipment.take_out_of_service(equipment=world.cell, reason="dropped", by=world.magnus, at=world.at)
    row = row_of(world, world.cell, world.at + timedelta(minutes=1))
    assert (row.group, row.due) == (due.NOW, "equipment out of service")
    equipment.happened(
        equipment=world.cell, kind="retired", reason="broken", by=world.magnus, at=world.at + timedelta(minutes=2)
    )
    assert f"{world.cell.name} ({world.cell.label})" not in rows(world, world.at + timedelta(minutes=3))


def test_the_longest_authorisation_counts(world):
    cast.authorise(world.runa, world.method, by=world.magnus, at=world.at, until_on=date(2028, 1, 31))
    assert rows(world)["Runa Vik, technique A of P-3 version 1"].on == date(2028, 1, 31)


def test_one_withdrawn_is_not_due(world):
    held = Authorisation.objects.get(person=world.runa)
    people.withdraw(authorisation=held, from_on=date(2026, 5, 1), reason="away", by=world.magnus, at=world.at)
    assert "Runa Vik, technique A of P-3 version 1" not in rows(world)


def test_counts_on_the_first_page_lead_to_the_list(client, world):
    recalibrate(world, world.cell, date(2026, 5, 1))
    client.force_login(world.magnus)
    page = client.get(reverse("home")).content.decode()
    assert "?group=Stops%20work%20now" in page
    only = client.get(reverse("due"), {"group": due.NOW}).content.decode()
    assert "Cell 50 N" in only
    assert "Bench tester 1 (TS" not in only.split("On one axis")[0]


# --- the calendar
def address(client, world, person=None):
    client.force_login(person or world.magnus)
    page = client.post(reverse("give-feed")).content.decode()
    return "/calendar/" + page.split("/calendar/")[1].split("<")[0]


def calendar(client, path):
    client.logout()
    answer = client.get(path)
    assert answer.status_code == 200
    assert answer["Content-Type"].startswith("text/calendar")
    return icalendar.Calendar.from_ical(answer.content)


def test_another_program_reads_the_calendar(client, world):
    events = calendar(client, address(client, world)).walk("VEVENT")
    found = {str(event["SUMMARY"]): event for event in events}
    cell = found[f"Cell 50 N ({world.cell.label}): calibration due"]
    assert cell.decoded("DTSTART") == date(2026, 12, 31)
    assert cell.decoded("DTEND") == date(2027, 1, 1)
    assert str(cell["UID"]) == f"calibration-{world.cell.label}@labrecords"
    assert str(cell["STATUS"]) == "CONFIRMED"
    assert str(cell["URL"]).endswith(f"/equipment/{world.cell.label}/")
    text = "\n".join(str(event["SUMMARY"]) for event in events)
    for secret in ("Fjell", "Brand", world.study.code, world.study.title):
        assert secret not in text


def test_an_event_keeps_its_name_and_counts_up_when_its_day_changes(client, world):
    path = address(client, world)
    name = f"calibration-{world.cell.label}@labrecords"
    before = next(event for event in calendar(client, path).walk("VEVENT") if str(event["UID"]) == name)
    world.at += timedelta(days=1)
    recalibrate(world, world.cell, date(2026, 6, 1))
    after = next(event for event in calendar(client, path).walk("VEVENT") if str(event["UID"]) == name)
    assert after.decoded("DTSTART") == date(2026, 6, 1)
    assert int(after["SEQUENCE"]) > int(before["SEQUENCE"])


def test_what_is_gone_is_cancelled(client, world):
    from django.utils import timezone

    path = address(client, world)
    equipment.happened(equipment=world.cell, kind="retired", reason="broken", by=world.magnus, at=timezone.now())
    held = Authorisation.objects.get(person=world.runa)
    people.withdraw(authorisation=held, from_on=date(2026, 5, 1), reason="away", by=world.magnus, at=timezone.now())
    gone = {str(e["UID"]) for e in calendar(client, path).walk("VEVENT") if str(e["STATUS"]) == "CANCELLED"}
    assert gone == {f"calibration-{world.cell.label}@labrecords", "authorisation-runa-P-3-1-A@labrecords"}


def test_the_address_is_a_secret_that_ends(client, world):
    first = address(client, world)
    second = address(client, world)
    assert first != second
    client.logout()
    assert client.get(first).status_code == 404
    assert client.get(second).status_code == 200
    secret = second.split("/calendar/")[1].removesuffix(".ics")
    assert not CalendarFeed.objects.filter(digest__contains=secret).exists()
    assert CalendarFeed.objects.get(revoked_at__isnull=True).fetched_at is not None
    client.force_login(world.magnus)
    assert "last read on" in client.get(reverse("due")).content.decode()
    client.post(reverse("revoke-feed"))
    client.logout()
    assert client.get(second).status_code == 404


def test_who_has_left_reads_no_calendar(client, world):
    path = address(client, world, world.edda)
    people.close_account(person=world.edda, reason="left", by=world.magnus, at=world.at)
    client.logout()
    assert client.get(path).status_code == 404


def test_others_see_their_own_and_the_equipment(client, world):
    cast.authorise(world.timo, world.method, by=world.magnus, at=world.at)
    text = str(calendar(client, address(client, world, world.timo)).to_ical())
    assert "Timo Aalto" in text
    assert "Cell 50 N" in text
    assert "Runa Vik" not in text


def test_long_and_odd_words_survive_the_writing():
    from labrecords.files.ical import AllDay
    from labrecords.files.ical import calendar as written

    words = "Prüflast; 5 N, „schwer“ \\ " * 9 + "\nzweite Zeile"
    event = AllDay("uid@x", date(2026, 5, 20), words, "https://x.example/")
    content = written([event], name="Due, and more", at=datetime(2026, 5, 20, 8, 0, tzinfo=UTC))
    assert all(len(line) <= 75 for line in content.split(b"\r\n"))
    (read,) = icalendar.Calendar.from_ical(content).walk("VEVENT")
    assert str(read["SUMMARY"]) == words


# --- the daily mail
def taken(name):
    """The jobs of a name, taken from the list as a worker does; what each is about."""
    with connection.cursor() as cursor:
        cursor.execute("DELETE FROM procrastinate_jobs WHERE task_name = %s RETURNING args", [name])
        return [json.loads(args) if isinstance(args, str) else args for (args,) in cursor.fetchall()]


def digest(world, at):
    mail.outbox.clear()
    call_command("send_digest", at=at)
    for told in taken(jobs.SEND_DIGEST):
        digests.send(**told)
    return {one.to[0]: one for one in mail.outbox}


@pytest.fixture
def with_mail(world):
    for person in (world.magnus, world.runa, world.sefa):
        person.email = f"{person.username}@tern.example"
        person.save(update_fields=["email"])
    return world


def test_a_timer_that_goes_off_twice_puts_off_one_mail_a_person(with_mail, capsys):
    moment = "2026-05-25T08:00+00:00"
    call_command("send_digest", at=moment)
    call_command("send_digest", at="2026-05-25T08:20+00:00")
    assert capsys.readouterr().out.splitlines() == [
        "1 digest put off, to be sent by work_jobs.",
        "0 digests put off, to be sent by work_jobs.",
        "1 of that day waited already.",
    ]
    assert len(taken(jobs.SEND_DIGEST)) == 1


def test_who_has_left_meanwhile_is_sent_none(with_mail):
    call_command("send_digest", at="2026-05-25T08:00+00:00")
    [told] = taken(jobs.SEND_DIGEST)
    with_mail.magnus.email = ""
    with_mail.magnus.save(update_fields=["email"])
    mail.outbox.clear()
    digests.send(**told)
    assert mail.outbox == []


def test_a_notice_goes_to_whose_it_is(with_mail):
    world = with_mail
    recalibrate(world, world.cell, date(2026, 6, 3))  # in 14 days
    sent = digest(world, "2026-05-20T08:00+00:00")
    assert set(sent) == {"magnus@tern.example"}
    assert sent["magnus@tern.example"].subject == "1 due"
    assert "calibration due, 3 June 2026" in sent["magnus@tern.example"].body
    assert digest(world, "2026-05-21T08:00+00:00") == {}


def test_what_is_overdue_comes_every_working_day_and_the_manager_hears_of_others_after_three(with_mail):
    world = with_mail
    held = Authorisation.objects.get(person=world.runa)
    assert held.until_on == date(2026, 12, 31)
    assert set(digest(world, "2027-01-01T08:00+00:00")) >= {"runa@tern.example"}
    late = digest(world, "2027-01-04T08:00+00:00")
    assert "authorisation ended" in late["runa@tern.example"].body
    assert "Runa Vik" in late["magnus@tern.example"].body
    assert digest(world, "2027-01-02T08:00+00:00") == {}  # a Saturday


def test_on_mondays_managers_hear_that_all_is_in_date(with_mail):
    sent = digest(with_mail, "2026-05-25T08:00+00:00")
    assert set(sent) == {"magnus@tern.example"}
    assert sent["magnus@tern.example"].subject == "All in date"
    assert "Next: " in sent["magnus@tern.example"].body


def test_reviews_are_told_to_whoever_may_take_them(with_mail):
    world = with_mail
    from labrecords.actions import review, runs

    cast.enter(world)
    runs.close_run(run=world.run, by=world.runa, at=world.at)
    review.finish_testing(study=world.study, by=world.edda, at=world.at, why_fewer="Enough.")
    sent = digest(world, "2026-05-26T08:00+00:00")
    assert sent["sefa@tern.example"].subject == "1 to review"
    assert f"/studies/{world.study.code}/" in sent["sefa@tern.example"].body
    assert "runa@tern.example" not in sent


def test_what_is_out_of_service_is_told_each_day_though_it_has_no_date(with_mail):
    world = with_mail
    equipment.take_out_of_service(equipment=world.cell, reason="dropped", by=world.magnus, at=world.at)
    sent = digest(world, "2026-05-21T08:00+00:00")
    assert sent["magnus@tern.example"].subject == "1 stop work"
    assert f"Cell 50 N ({world.cell.label}): equipment out of service." in sent["magnus@tern.example"].body
