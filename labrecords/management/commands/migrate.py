"""`migrate` as the database's owner, with the runtime role's privileges set again afterwards."""

from django.core.management.commands import migrate

from labrecords.database import privileges
from labrecords.database.roles import as_owner


class Command(migrate.Command):
    help = "Updates the database's tables as their owner, then grants the runtime role what it may do."

    def handle(self, *args, **options):
        with as_owner():
            super().handle(*args, **options)
            if not (options["plan"] or options["check_unapplied"] or options["app_label"]):
                privileges.apply()
