"""`send_digest`: one mail a person, with what waits for them and what falls due; for a timer at eight each morning."""

from datetime import datetime

from django.core.management.base import BaseCommand, CommandParser
from django.utils import timezone

from labrecords.actions.jobs import SEND_DIGEST, put_off
from labrecords.queries import lab
from labrecords.reports.digest import digests


class Command(BaseCommand):
    help = (
        "Has each person sent one mail with what waits for them and what falls due; `work_jobs` sends them, again and "
        "again while the mail server is away. Nothing is sent on weekends, and an empty one only on Mondays. Run it "
        "by a timer, for example: 0 8 * * 1-5."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--at", help="Moment to send for, as 2026-11-25T08:00+00:00; now by default.")

    def handle(self, *_args, at=None, **_options):
        moment = datetime.fromisoformat(at) if at else timezone.now()
        told = [mail.person for mail in digests(moment)]
        new = sum(_put_off(person, moment) for person in told)
        self.stdout.write(f"{new} digest{'s' if new != 1 else ''} put off, to be sent by work_jobs.")
        if new < len(told):
            self.stdout.write(f"{len(told) - new} of that day waited already.")


def _put_off(person: str, moment: datetime) -> bool:
    """One mail a person and day: False where it waits already."""
    once = f"{SEND_DIGEST} {lab.day(moment)} {person}"
    return put_off(SEND_DIGEST, once=once, person=person, at=moment.isoformat())
