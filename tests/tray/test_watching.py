"""The watched folder: whole files are taken once, whatever happens to them or to the watcher meanwhile.

Time is a number that the tests move on; nothing here waits.
"""

import itertools
from types import SimpleNamespace

import pytest
from django.core.management import CommandError, call_command
from django.db import OperationalError

from labrecords.actions import tray
from labrecords.management import watching
from labrecords.management.watching import Watch
from labrecords.models import Result, TraceFile, WaitingFile
from tests.files.shapes import good
from tests.tray.test_tray import of


class House:
    """A watched folder, its clock, and what the watcher says."""

    def __init__(self, folder, world):
        self.folder, self.world, self.time, self.said = folder, world, 0.0, []
        self.start()

    def start(self):
        self.watch = Watch(self.folder, username="tester_one", say=self.said.append, clock=lambda: self.time)

    def write(self, name, content):
        (self.folder / name).write_bytes(content)

    def go_on(self, seconds, step=0.5):
        for _ in range(round(seconds / step)):
            self.time += step
            self.watch.turn()

    def names(self, where=""):
        return sorted(path.name for path in (self.folder / where).iterdir() if path.is_file())

    @property
    def label(self):
        return self.world.specimens[0].label


@pytest.fixture
def house(laboratory, tmp_path, monkeypatch):
    monkeypatch.setattr(watching, "close_old_connections", lambda: None)  # the test's transaction stays open
    monkeypatch.setattr(watching, "connection", SimpleNamespace(close=lambda: None))
    return House(tmp_path, laboratory)


def whole(label):
    return of(label) + b"\n"


def test_a_whole_file_is_taken_and_moved_and_is_no_result(house):
    house.write("pull.csv", whole(house.label))
    house.go_on(1)
    assert not TraceFile.objects.exists()  # not settled yet
    house.go_on(3)
    assert TraceFile.objects.get().study == house.world.study
    assert (house.names(), house.names("taken"), house.names("refused")) == ([], ["pull.csv"], [])
    assert not Result.objects.exists()
    assert house.said == [f"pull.csv is a trace file of {house.world.study.code}."]


def test_what_names_nothing_goes_to_the_tray(house):
    house.write("pull.csv", good() + b"\n")
    house.go_on(4)
    assert WaitingFile.objects.get().name == "pull.csv"
    assert house.names("taken") == ["pull.csv"]
    assert "waits in the tray" in house.said[0]


def test_what_cannot_be_read_is_refused_with_its_sentence_after_a_longer_wait(house):
    house.write("notes.csv", b"no numbers here\n")
    house.go_on(10)
    assert house.names() == ["notes.csv"]
    house.go_on(15)
    assert house.names("refused") == ["notes.csv", "notes.csv.txt"]
    assert len((house.folder / "refused" / "notes.csv.txt").read_text()) > 20
    assert (TraceFile.objects.count(), WaitingFile.objects.count()) == (0, 0)


def test_a_refusal_says_all_its_sentences(house):
    type(house.world.study).objects.filter(pk=house.world.study.pk).update(state="in review")
    house.write("pull.csv", whole(house.label))
    house.go_on(4)
    told = (house.folder / "refused" / "pull.csv.txt").read_text()
    assert "Not recorded:" in told
    assert "The study is in review." in told
    assert "What to do next:" in told


def test_a_file_too_large_is_refused_unread(house, settings):
    settings.TRACE_FILE_LIMIT_BYTES = 100
    house.write("pull.csv", whole(house.label))
    house.go_on(4)
    assert house.names("refused") == ["pull.csv", "pull.csv.txt"]


def slowly(house, content, pause, parts=8):
    """A tester that writes a file in parts with pauses between them."""
    cuts = [len(content) * part // parts for part in range(1, parts)]
    cuts = [cut - (content[cut - 1 : cut] == b"\n") for cut in cuts]  # each in the middle of a line
    for first, last in itertools.pairwise([0, *cuts, len(content)]):
        with (house.folder / "pull.csv").open("ab") as file:
            file.write(content[first:last])
        house.go_on(pause)
    house.go_on(25)


@pytest.mark.parametrize("pause", [0.5, 1.5, 5])
def test_a_file_written_slowly_is_taken_whole(house, pause):
    """Where parts end in the middle of a line, a pause longer than the settling time makes no file whole."""
    content = whole(house.label)
    slowly(house, content, pause)
    assert [bytes(file.content) for file in TraceFile.objects.all()] == [content]
    assert house.names("refused") == []


def test_control_without_patience_a_part_is_taken_for_the_whole(house):
    house.watch.patience = watching.Patience(settled=0, unread=0, after=0)
    content = whole(house.label)
    slowly(house, content, 5, parts=2)
    kept = [bytes(file.content) for file in TraceFile.objects.all()]
    assert any(part != content for part in kept) or house.names("refused")


def test_a_tester_that_goes_on_writing_after_the_move_is_noticed(house):
    """It holds the file open; what it adds lands where the file lies now."""
    content = whole(house.label)
    cut = content.index(b"\n", len(content) * 3 // 4) + 1
    with (house.folder / "pull.csv").open("wb", buffering=0) as file:
        file.write(content[:cut])
        house.go_on(4)
        assert house.names("taken") == ["pull.csv"]
        file.write(content[cut:])
    house.go_on(5)
    assert content in [bytes(file.content) for file in TraceFile.objects.all()]
    assert (house.folder / "taken" / "pull.csv").read_bytes() == content
    assert any("was written to after it was read" in said for said in house.said)


def test_a_file_replaced_before_it_settles_is_taken_as_it_is_in_the_end(house):
    house.write("pull.csv", good() + b"\n")
    house.go_on(1.5)
    house.write("new", whole(house.label))
    (house.folder / "new").replace(house.folder / "pull.csv")
    house.go_on(4)
    assert [bytes(file.content) for file in TraceFile.objects.all()] == [whole(house.label)]
    assert not WaitingFile.objects.exists()


def test_a_file_replaced_while_it_is_taken_is_taken_too(house, monkeypatch):
    first, second = good() + b"\n", whole(house.label)
    arrive = tray.arrive

    def replaced_meanwhile(**given):
        arrived = arrive(**given)
        if given["content"] == first:
            house.write("other", second)
            (house.folder / "other").replace(house.folder / "pull.csv")
        return arrived

    monkeypatch.setattr(tray, "arrive", replaced_meanwhile)
    house.write("pull.csv", first)
    house.go_on(8)
    assert bytes(WaitingFile.objects.get().content) == first
    assert bytes(TraceFile.objects.get().content) == second
    assert (house.folder / "taken" / "pull.csv").read_bytes() == second


def test_two_files_of_one_name_are_both_there(house):
    for number in (1, 2):
        house.write("pull.csv", f"# {number}\n".encode() + whole(house.label))
        house.go_on(4)
    assert house.names("taken") == ["pull (2).csv", "pull.csv"]
    assert TraceFile.objects.count() == 2


def test_a_watcher_that_was_stopped_before_the_move_takes_nothing_twice(house, monkeypatch):
    def killed(*_args):
        raise SystemExit

    with monkeypatch.context() as patched:
        patched.setattr(Watch, "_move", killed)
        house.write("pull.csv", whole(house.label))
        with pytest.raises(SystemExit):
            house.go_on(4)
    assert (TraceFile.objects.count(), house.names()) == (1, ["pull.csv"])
    house.start()
    house.go_on(4)
    assert (TraceFile.objects.count(), house.names("taken")) == (1, ["pull.csv"])
    assert "The same bytes had come before." in house.said[-1]


def test_a_database_that_is_away_is_waited_for_and_said(house, monkeypatch):
    with monkeypatch.context() as patched:
        patched.setattr(tray, "arrive", lambda **_: (_ for _ in ()).throw(OperationalError("server is gone")))
        house.write("pull.csv", whole(house.label))
        house.go_on(60)
        assert (house.names(), house.names("refused")) == (["pull.csv"], [])
    assert 3 <= sum("The database does not answer (server is gone)" in said for said in house.said) < 10
    house.go_on(60)
    assert house.names("taken") == ["pull.csv"]
    assert "The database answers again." in house.said


@pytest.mark.parametrize("name", [".hidden.csv", "pull.csv.part", "pull.tmp", "~$pull.csv"])
def test_files_that_say_they_are_not_finished_stay(house, name):
    house.write(name, whole(house.label))
    house.go_on(30)
    assert house.names() == [name]
    assert not TraceFile.objects.exists()


def test_links_and_folders_stay(house, tmp_path_factory):
    outside = tmp_path_factory.mktemp("outside") / "secret.csv"
    outside.write_bytes(whole(house.label))
    (house.folder / "link.csv").symlink_to(outside)
    (house.folder / "folder.csv").mkdir()
    house.go_on(30)
    assert not TraceFile.objects.exists()
    assert (house.folder / "link.csv").is_symlink()


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"username": "signe"}, "may not enter a result"),
        ({"username": "nobody"}, "There is no nobody."),
        ({"username": "tester_one", "tester": "cell"}, "is not a tester"),
        ({"username": "tester_one", "folder": "missing"}, "is not a folder"),
    ],
)
def test_the_command_says_what_is_wrong_at_once(house, given, said):
    folder = house.folder / given.get("folder", "")
    options = ["--as", given["username"]]
    options += ["--tester", house.world.cell.label] if "tester" in given else []
    with pytest.raises(CommandError, match=said):
        call_command("watch_traces", str(folder), *options)
