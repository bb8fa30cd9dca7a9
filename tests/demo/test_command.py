"""`demo` where it must not go on: other people's records, a taken port, a day to come."""

import io
import socket
from datetime import timedelta

import pytest
from django.core.management import CommandError, call_command
from django.utils import timezone

from labrecords.management.commands import demo
from labrecords.management.demo import mark
from labrecords.models import Laboratory, User
from tests import world as cast


class NeverStopped:
    """A server whose stopping fails the test."""

    def stop(self):
        raise AssertionError("the server was stopped")


@pytest.fixture
def command(settings, tmp_path):
    settings.HOME = tmp_path
    settings.EMBEDDED_SERVER = NeverStopped()
    return demo.Command()


def test_records_that_are_no_demo_are_left_alone(db, command):
    cast.laboratory()
    with pytest.raises(CommandError, match="not a demo's, so nothing was removed"):
        command.clear_away()
    with pytest.raises(CommandError, match="not a demo's, so nothing was changed"):
        command.say_it_exists()
    assert User.objects.exists()


def test_the_mark_of_another_laboratory_is_not_this_one_s(db, command, tmp_path):
    cast.laboratory()
    mark.leave(tmp_path, User.objects.first().pk, mark.WHOLE)
    with pytest.raises(CommandError, match="nothing was removed"):
        command.clear_away()


def test_a_demo_is_known_by_its_mark(db, command, tmp_path):
    command.stdout = io.StringIO()
    cast.laboratory()
    mark.leave(tmp_path, Laboratory.objects.get().pk, mark.WHOLE)
    command.say_it_exists()
    assert "--fresh" in command.stdout.getvalue()
    mark.leave(tmp_path, Laboratory.objects.get().pk, mark.BEGUN)
    with pytest.raises(CommandError, match="not finished"):
        command.say_it_exists()


def test_a_database_of_one_s_own_with_people_is_refused(db, command, settings):
    cast.laboratory()
    settings.EMBEDDED_SERVER = None
    with pytest.raises(CommandError, match="has people in it"):
        command.say_it_exists()
    with pytest.raises(CommandError, match="Unset DATABASE_URL"):
        command.clear_away()
    assert User.objects.exists()


def test_a_taken_port_is_said_before_anything_is_done():
    with socket.socket() as taken:
        taken.bind((demo.HERE, 0))
        taken.listen()
        with pytest.raises(CommandError, match="cannot be used"):
            call_command("demo", port=taken.getsockname()[1])


def test_a_port_that_no_computer_has_is_refused():
    with pytest.raises(CommandError, match="cannot be used"):
        demo.refuse_taken(70000)


def test_a_day_to_come_is_refused_before_anything_is_done():
    with pytest.raises(CommandError, match="still to come"):
        call_command("demo", today=(timezone.now() + timedelta(days=3)).date(), no_serve=True, fresh=True)


def test_a_day_is_written_as_a_day():
    with pytest.raises(CommandError, match="write it as 2026-05-20"):
        call_command("demo", "--today", "yesterday")
