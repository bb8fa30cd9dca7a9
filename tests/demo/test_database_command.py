"""`database start|stop|status`, on a server that only remembers what it was told."""

import io
import pathlib

import pytest
from django.core.management import CommandError, call_command

from labrecords.database.errors import StartError


class Remembered:
    """Stands where the built-in server would."""

    data = pathlib.Path("records/postgres")

    def __init__(self, *, runs):
        self.runs = runs

    def running(self):
        return self.runs

    def ensure(self):
        self.runs = True

    def stop(self):
        self.runs = False


def said(act):
    out = io.StringIO()
    call_command("database", act, stdout=out)
    return out.getvalue()


@pytest.mark.parametrize(
    ("act", "before", "words", "after"),
    [
        ("start", False, "has been started", True),
        ("start", True, "runs already", True),
        ("stop", True, "has been stopped", False),
        ("stop", False, "does not run", False),
        ("status", True, "The database server runs", True),
        ("status", False, "does not run", False),
    ],
)
def test_each_act_says_how_it_stands(settings, act, before, words, after):
    settings.EMBEDDED_SERVER = Remembered(runs=before)
    assert words in said(act)
    assert settings.EMBEDDED_SERVER.runs is after


@pytest.mark.parametrize("act", ["start", "stop", "status"])
def test_with_an_address_there_is_nothing_to_do(settings, act):
    settings.EMBEDDED_SERVER = None
    assert "nothing to do" in said(act)


def test_a_server_that_does_not_start_says_why(settings, monkeypatch):
    settings.EMBEDDED_SERVER = Remembered(runs=False)

    def refuse():
        raise StartError("The folder belongs to another user. Choose another folder.")

    monkeypatch.setattr(settings.EMBEDDED_SERVER, "ensure", refuse)
    with pytest.raises(CommandError, match="another user"):
        said("start")
