"""`check_audit_trail`: computes the whole audit trail again and says whether it is as it was sealed."""

import pathlib
import sys

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

from labrecords.queries import audit, heads


class Command(BaseCommand):
    help = (
        "Computes every seal of the audit trail again from its events, and compares it with the heads that were noted "
        "outside the database. Ends with 1 when one does not agree."
    )

    def add_arguments(self, parser):
        parser.add_argument("--heads", type=pathlib.Path, default=None, help="File of noted heads; AUDIT_HEADS_FILE.")

    def handle(self, *_args, heads: pathlib.Path | None, **_options):
        noted = _noted(heads)
        check = audit.check_chain(noted)
        if not check.ok:
            self.stderr.write(f"The audit trail is not as it was sealed. First: {check.first_bad}. {check.why}")
            self.stderr.write(
                f"{check.seals} seals before it agree. Take the application out of use, keep the database as it is, "
                "and compare it with a backup."
            )
            sys.exit(1)
        self.stdout.write(f"The audit trail is as it was sealed: {check.seals} seals over {check.events} events.")
        if noted:
            self.stdout.write(f"It agrees with {len(noted)} heads noted outside, the last on {noted[-1].noted}.")
            self.stdout.write(f"Its head is {check.head}.")
        else:
            self.stdout.write(f"Its head is {check.head}. Compare it with a head that was noted elsewhere.")


def _noted(file: pathlib.Path | None) -> list[heads.Head]:
    chosen = file or settings.AUDIT_HEADS
    if file is None and not chosen.exists():
        return []
    try:
        return heads.read(chosen)
    except OSError as problem:
        raise CommandError(f"{chosen} cannot be read: {problem.strerror}.") from problem
    except heads.NotAHead as problem:
        raise CommandError(f"{chosen}: {problem}. Look at that file before anything else.") from problem
