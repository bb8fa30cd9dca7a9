"""Backup and restore, against a server that is not ours: what is in it is counted, and the trail computed again."""

import json
import pathlib

import psycopg
import pytest

from tests.database.test_external import address, manage, started  # noqa: F401 - fixtures


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("backups")


@pytest.fixture(scope="module")
def made(started, folder):  # noqa: F811 - a fixture
    done = manage(started, "backup", str(folder))
    assert done.returncode == 0, done.stdout + done.stderr
    (file,) = folder.glob("*.dump")
    return file


def note_of(file: pathlib.Path) -> dict:
    return json.loads(file.with_suffix(".json").read_text())


def copied(file: pathlib.Path, folder: pathlib.Path, **changed) -> pathlib.Path:
    """The backup once more, with some of its note changed."""
    again = folder / file.name
    again.write_bytes(file.read_bytes())
    again.with_suffix(".json").write_text(json.dumps(note_of(file) | changed))
    return again


def test_a_backup_is_restored_counted_and_its_trail_computed_again(started, made):  # noqa: F811 - a fixture
    note = note_of(made)
    with psycopg.connect(started.replace("ROLE", "labrecords_owner")) as owner:
        seals = owner.execute("select count(*) from labrecords_seal").fetchone()[0]
    assert (note["seal"], note["rows"]["labrecords_seal"]) == (seals, seals)
    assert made.stat().st_mode & 0o077 == 0
    done = manage(started, "restore_check", str(made))
    assert done.returncode == 0, done.stdout + done.stderr
    assert f"{sum(note['rows'].values())} rows in {len(note['rows'])} tables, as many as were there." in done.stdout
    assert f"it is whole up to seal {seals}." in done.stdout


def test_a_flipped_byte_is_found(started, made, tmp_path):  # noqa: F811 - a fixture
    again = copied(made, tmp_path)
    content = bytearray(again.read_bytes())
    content[len(content) // 2] ^= 1
    again.write_bytes(content)
    done = manage(started, "restore_check", str(again))
    assert done.returncode == 1
    assert "is not the file that was made" in done.stderr


def test_a_missing_row_is_named(started, made, tmp_path):  # noqa: F811 - a fixture
    rows = note_of(made)["rows"]
    again = copied(made, tmp_path, rows=rows | {"labrecords_user": rows["labrecords_user"] + 1})
    done = manage(started, "restore_check", str(again))
    assert done.returncode == 1
    assert f"labrecords_user has {rows['labrecords_user']} rows, and had {rows['labrecords_user'] + 1}." in done.stderr


@pytest.mark.parametrize(
    ("more", "said"), [(0, "It is not the one that was noted outside"), (1, "the trail ends at seal")]
)
def test_a_trail_that_is_not_the_noted_one_is_found(started, made, tmp_path, more, said):  # noqa: F811 - a fixture
    again = copied(made, tmp_path, head="0" * 64, seal=note_of(made)["seal"] + more)
    done = manage(started, "restore_check", str(again))
    assert done.returncode == 1
    assert said in done.stderr


def test_a_backup_without_its_note_and_a_note_without_its_backup_are_said(started, made, tmp_path):  # noqa: F811 - a fixture
    lone = tmp_path / "lone.dump"
    lone.write_bytes(b"x")
    assert "A backup has its note beside it" in manage(started, "restore_check", str(lone)).stderr
    lone.with_suffix(".json").write_text("{}")
    assert "is no note of a backup" in manage(started, "restore_check", str(lone)).stderr
    again = copied(made, tmp_path)
    again.unlink()
    assert "is not there" in manage(started, "restore_check", str(again)).stderr


def test_without_the_owner_s_address_nothing_is_backed_up(started, folder):  # noqa: F811 - a fixture
    before = sorted(folder.iterdir())
    done = manage(started, "backup", str(folder), owner=False)
    assert done.returncode == 1
    assert "MIGRATION_DATABASE_URL" in done.stderr
    assert sorted(folder.iterdir()) == before


def test_a_folder_that_cannot_be_made_is_said(started, tmp_path):  # noqa: F811 - a fixture
    (tmp_path / "file").write_text("")
    done = manage(started, "backup", str(tmp_path / "file" / "folder"))
    assert done.returncode == 1
    assert "cannot be written" in done.stderr
