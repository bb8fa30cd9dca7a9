"""`send_digest`: one mail a person, with what waits for them and what falls due; for a timer at eight each morning."""

from datetime import datetime

from django.conf import settings
from django.core.mail import send_mail
from django.core.management.base import BaseCommand, CommandParser
from django.utils import timezone

from labrecords.management.digest import digests


class Command(BaseCommand):
    help = (
        "Sends each person one mail with what waits for them and what falls due. Nothing is sent on weekends, and an "
        "empty one only on Mondays. Run it by a timer, for example: 0 8 * * 1-5."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--at", help="Moment to send for, as 2026-11-25T08:00+00:00; now by default.")

    def handle(self, *_args, at=None, **_options):
        moment = datetime.fromisoformat(at) if at else timezone.now()
        sent = 0
        for mail in digests(moment):
            send_mail(mail.subject, mail.body, settings.DEFAULT_FROM_EMAIL, [mail.address])
            sent += 1
        self.stdout.write(f"Sent {sent} digest{'s' if sent != 1 else ''}.")
