"""Sends the digests that were put off, each again and again while the mail server does not take it."""

from datetime import datetime

from django.conf import settings
from django.core.mail import send_mail
from procrastinate import RetryStrategy
from procrastinate.contrib.django import app

from labrecords.actions.jobs import SEND_DIGEST
from labrecords.reports.digest import digests

# After 4, 16, 64, 256, 1024 and 4096 seconds: an hour and a half in all. A digest of yesterday helps nobody.
RETRY = RetryStrategy(max_attempts=6, exponential_wait=4)


@app.task(name=SEND_DIGEST, retry=RETRY)
def send(*, person: str, at: str) -> None:
    """Send one person's digest of a moment, as things stand when it is sent; whoever has been told by then is not."""
    for mail in digests(datetime.fromisoformat(at)):
        if mail.person == person:
            send_mail(mail.subject, mail.body, settings.DEFAULT_FROM_EMAIL, [mail.address])
