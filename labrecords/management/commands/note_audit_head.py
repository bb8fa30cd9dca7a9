"""`note_audit_head`: writes where the audit trail stands into a file outside the database. For a timer."""

import pathlib

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

from labrecords import web
from labrecords.actions import heads


class Command(BaseCommand):
    help = "Adds the head of the audit trail to a file outside the database, unless it stands there already."

    def add_arguments(self, parser):
        parser.add_argument("--file", type=pathlib.Path, default=None, help="Instead of the one in AUDIT_HEADS_FILE.")

    def handle(self, *_args, file, **_options):
        file = file or settings.AUDIT_HEADS
        try:
            noted = heads.note(at=web.now(), file=file)
        except OSError as problem:
            raise CommandError(
                f"{file} cannot be written: {problem.strerror}. Choose another with --file."
            ) from problem
        if noted is None:
            self.stdout.write("Nothing has been sealed since the last note.")
        else:
            self.stdout.write(f"Noted in {file}: seal {noted.seq}, {noted.hash}.")
