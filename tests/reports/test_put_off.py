"""What is put off until its asker has been answered: asked for once, done once, and never lost between."""

import io
import zipfile
from types import SimpleNamespace

import pytest
from django.core.management import call_command
from django.db import connection
from django.test import Client
from django.urls import reverse

from labrecords.actions import archive, jobs
from labrecords.management.commands import work_jobs
from labrecords.models import Archive, ArchiveOrder, Event
from labrecords.queries import archives
from labrecords.tasks import archives as task
from labrecords.tasks import digests
from tests import world as lab
from tests.clock import stopped
from tests.portal import cast as companies


def states(name: str) -> list[str]:
    """States of the jobs of a name that are there; the worker's own, each minute, come and go beside them."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT status FROM procrastinate_jobs WHERE task_name = %s ORDER BY id", [name])
        return [state for (state,) in cursor.fetchall()]


def waiting() -> list[str]:
    return states(jobs.MAKE_ARCHIVE)


def work() -> None:
    call_command("work_jobs", until_done=True)


def put(state: str) -> None:
    with connection.cursor() as cursor:
        cursor.execute("UPDATE procrastinate_jobs SET status = %s", [state])


def order(cast, whom="the auditor"):
    return archive.order(report=cast.clara, whom=whom, by=cast.world.edda, at=cast.world.at)


@pytest.mark.django_db(transaction=True)
def test_asked_for_on_the_page_made_by_the_worker_and_taken(monkeypatch):
    cast = companies.build()
    stopped(monkeypatch, cast.world.at)
    browser = Client()
    browser.force_login(cast.world.edda)
    page = reverse("report-records", args=[cast.clara.study.code])
    assert "None yet." in browser.get(page).content.decode()
    assert browser.post(page, {"whom": "an auditor"}).url == page
    assert waiting() == ["todo"]
    shown = browser.get(page).content.decode()
    assert "Being made" in shown
    fresh = reverse("report-archives", args=[cast.clara.study.code])
    assert f'data-fresh="{fresh}"' in shown
    address = reverse("archive", args=[ArchiveOrder.objects.get().pk])
    assert browser.get(address).status_code == 404  # not yet

    work()
    assert waiting() == []
    assert f'href="{address}"' in browser.get(fresh).content.decode()
    assert "data-fresh=" not in browser.get(page).content.decode()
    given = browser.get(address)
    assert given["Content-Disposition"] == f'attachment; filename="{cast.clara.number}-issue-1-records.zip"'
    assert zipfile.ZipFile(io.BytesIO(given.content)).testzip() is None
    assert Event.objects.filter(act="report.records-taken").count() == 1


@pytest.mark.django_db(transaction=True)
def test_a_job_whose_worker_ended_is_done_again_and_its_archive_made_once():
    cast = companies.build()
    asked = order(cast)
    put("doing")  # by a worker that is no more
    assert waiting() == ["doing"]
    jobs.put_off("do again what a worker left", timestamp=0)
    work()
    work()
    made = Archive.objects.get()
    assert archive.make(asked=asked, at=cast.world.at) == made
    assert waiting() == []


@pytest.mark.django_db
class TestWithoutAWorker:
    """What holds whoever does the job."""

    @pytest.fixture
    def cast(self):
        return companies.build()

    def test_what_is_not_asked_for_is_not_put_off(self, cast, monkeypatch):
        def away(*_args, **_what):
            raise ConnectionError("the database went away")

        before = Event.objects.count()
        monkeypatch.setattr(jobs, "put_off", away)
        with pytest.raises(ConnectionError):
            order(cast)
        assert (ArchiveOrder.objects.count(), Event.objects.count(), waiting()) == (0, before, [])

    def test_it_is_tried_three_times_and_then_said(self, cast, monkeypatch):
        asked = order(cast)

        def broken(**_what):
            raise OSError("no room")

        monkeypatch.setattr(archive, "make", broken)
        for attempts, kept in ((0, 0), (1, 0), (2, 1)):
            with pytest.raises(OSError, match="no room"):
                task.make.func(SimpleNamespace(job=SimpleNamespace(attempts=attempts)), order=str(asked.pk))
            assert Archive.objects.count() == kept
        assert archive.give_up(asked=asked, problem="again", at=cast.world.at).problem == task.PROBLEM
        browser = Client()
        browser.force_login(cast.world.edda)
        page = browser.get(reverse("report-records", args=[cast.clara.study.code])).content.decode()
        assert "It could not be made, three times over." in page
        assert browser.get(reverse("archive", args=[asked.pk])).status_code == 404

    def test_whoever_waits_long_is_told_what_may_be_wrong(self, cast, monkeypatch):
        clock = stopped(monkeypatch, cast.world.at)
        asked = order(cast)
        browser = Client()
        browser.force_login(cast.world.edda)
        page = reverse("report-records", args=[cast.clara.study.code])
        assert "work_jobs" not in browser.get(page).content.decode()
        clock.forward(seconds=61)
        assert "work_jobs" in browser.get(page).content.decode()
        assert archives.waits_long(asked, clock.now)

    def test_a_study_without_a_report_has_no_archives(self, cast):
        browser, draft = Client(), lab.plan(cast.world)
        browser.force_login(cast.world.edda)
        for name in ("report-records", "report-archives"):
            assert browser.get(reverse(name, args=[cast.clara.study.code])).status_code == 200
            assert browser.get(reverse(name, args=[draft.code])).status_code == 404
        assert browser.get(reverse("archive", args=[draft.pk])).status_code == 404


def test_a_worker_ends_with_the_process_beside_which_it_was_started(monkeypatch):
    parents, ended = iter([10, 10, 1]), []
    monkeypatch.setattr(work_jobs, "LOOK_EVERY_S", 0)
    monkeypatch.setattr(work_jobs.os, "getppid", lambda: next(parents))
    monkeypatch.setattr(work_jobs.os, "kill", lambda pid, how: ended.append((pid, how)))
    work_jobs.end_with(10)
    assert ended == [(work_jobs.os.getpid(), work_jobs.signal.SIGTERM)]


def test_every_job_that_is_put_off_has_somebody_who_does_it():
    from procrastinate.contrib.django import app

    assert {jobs.MAKE_ARCHIVE} <= set(app.tasks)


@pytest.mark.django_db(transaction=True)
def test_a_digest_waits_for_a_mail_server_that_is_away(monkeypatch):
    cast = lab.build()
    cast.magnus.email = "magnus@tern.example"
    cast.magnus.save(update_fields=["email"])
    away = [OSError("nobody there"), OSError("nobody there")]

    def server(*told):
        if away:
            raise away.pop()
        sent.append(told)

    sent = []
    monkeypatch.setattr(digests, "send_mail", server)
    call_command("send_digest", at="2026-05-25T08:00+00:00")
    for left in (1, 0):
        work()
        assert (states(jobs.SEND_DIGEST), len(away), sent) == (["todo"], left, [])
        due_now()
    work()
    assert states(jobs.SEND_DIGEST) == []
    [(subject, _, _, [address])] = sent
    assert (subject, address) == ("All in date", "magnus@tern.example")


def due_now() -> None:
    """What waits for its next try need not wait."""
    with connection.cursor() as cursor:
        cursor.execute("UPDATE procrastinate_jobs SET scheduled_at = now() WHERE task_name = %s", [jobs.SEND_DIGEST])
