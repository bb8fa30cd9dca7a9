"""`backup FOLDER`: the whole database in one file, with a note of what must be in it."""

import pathlib
from datetime import UTC

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

from labrecords import web
from labrecords.database import backup
from labrecords.database.errors import StartError


class Command(BaseCommand):
    help = "Writes the whole database into a new file of a folder, best on another disk. Try it with restore_check."

    def add_arguments(self, parser):
        parser.add_argument("folder", type=pathlib.Path)

    def handle(self, *_args, folder, **_options):
        if settings.OWNER_DATABASE is None:
            raise CommandError("Set MIGRATION_DATABASE_URL to the database's address as its owner, who may read all.")
        try:
            if settings.EMBEDDED_SERVER is not None:
                settings.EMBEDDED_SERVER.ensure()
            made = backup.make(settings.OWNER_DATABASE, folder, at=web.now().astimezone(UTC))
        except (backup.BackupError, StartError) as problem:
            raise CommandError(str(problem)) from problem
        except OSError as problem:
            raise CommandError(f"{problem.filename} cannot be written: {problem.strerror}.") from problem
        self.stdout.write(f"{folder / made.file}: {made.size} bytes, SHA-256 {made.sha256}.")
        self.stdout.write(
            f"{sum(made.rows.values())} rows in {len(made.rows)} tables; the trail stands at seal {made.seal}."
        )
        self.stdout.write(f"A backup counts once it was restored: manage.py restore_check {folder / made.file}")
