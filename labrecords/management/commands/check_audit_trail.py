"""`check_audit_trail`: computes the whole audit trail again and says whether it is as it was sealed."""

import sys

from django.core.management.base import BaseCommand

from labrecords.queries import audit


class Command(BaseCommand):
    help = "Computes every seal of the audit trail again from its events. Ends with 1 when one does not agree."

    def handle(self, *_args, **_options):
        check = audit.check_chain()
        if not check.ok:
            self.stderr.write(f"The audit trail is not as it was sealed. First: {check.first_bad}. {check.why}")
            self.stderr.write(
                f"{check.seals} seals before it agree. Take the application out of use, keep the database as it is, "
                "and compare it with a backup."
            )
            sys.exit(1)
        self.stdout.write(f"The audit trail is as it was sealed: {check.seals} seals over {check.events} events.")
        self.stdout.write(f"Its head is {check.head}. Compare it with a head that was noted elsewhere.")
