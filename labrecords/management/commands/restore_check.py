"""`restore_check FILE`: restores a backup into a server of its own and says whether everything is there."""

import os
import pathlib
import subprocess
import sys
import tempfile

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

from labrecords.database import backup
from labrecords.database.errors import StartError
from labrecords.database.server import Server
from labrecords.queries import heads


class Command(BaseCommand):
    help = (
        "Restores a backup into a database server of its own, counts every table, and computes the audit trail again "
        "up to the heads noted outside. The real database is not touched. Ends with 1 when something is missing."
    )

    def add_arguments(self, parser):
        parser.add_argument("file", type=pathlib.Path, help="The .dump file that manage.py backup made.")

    def handle(self, *_args, file, **_options):
        with tempfile.TemporaryDirectory(prefix="labrecords-restore-", ignore_cleanup_errors=True) as folder:
            home = pathlib.Path(folder)
            home.chmod(0o755)  # the server may run as another user, and looks into it
            server = Server(home / "postgres", durable=False)
            try:
                self._check(file, server, home)
            except (backup.BackupError, StartError) as problem:
                raise CommandError(str(problem)) from problem
            finally:
                if server.running():
                    server.stop("immediate")

    def _check(self, file: pathlib.Path, server: Server, home: pathlib.Path) -> None:
        note = backup.read_note(file)
        backup.restore(file, server)
        self._compare(note, server)
        noted = home / "heads.tsv"
        noted.write_text("".join(f"{head}\n" for head in _heads(note)), encoding="ascii")
        done = _trail(home, noted)
        self.stdout.write(done.stdout.strip())
        if done.returncode:
            self.stderr.write(done.stderr.strip())
            sys.exit(1)
        self.stdout.write(f"{file} can be restored: it is whole up to seal {note.seal}.")

    def _compare(self, note: backup.Note, server: Server) -> None:
        missing = backup.differences(note, server)
        for sentence in missing:
            self.stderr.write(sentence)
        if missing:
            sys.exit(1)
        self.stdout.write(f"{sum(note.rows.values())} rows in {len(note.rows)} tables, as many as were there.")


def _heads(note: backup.Note) -> list[heads.Head]:
    """The backup's own head, and those noted outside before it."""
    own = [heads.Head(note.seal, note.head, note.made_at)] if note.seal else []
    outside = heads.read(settings.AUDIT_HEADS) if settings.AUDIT_HEADS.exists() else []
    return [*(head for head in outside if head.seq <= note.seal), *own]


def _trail(home: pathlib.Path, noted: pathlib.Path) -> subprocess.CompletedProcess:
    """The trail of the restored database, computed by a process that knows no other one."""
    environment = {name: value for name, value in os.environ.items() if not name.endswith("DATABASE_URL")}
    environment |= {
        "LABRECORDS_HOME": str(home),
        "AUDIT_HEADS_FILE": str(noted),
        "DJANGO_SETTINGS_MODULE": "labrecords.settings",
    }
    return subprocess.run(  # noqa: S603 - our own program
        [sys.executable, str(settings.BASE_DIR / "manage.py"), "check_audit_trail"],
        env=environment,
        capture_output=True,
        text=True,
        check=False,
    )
