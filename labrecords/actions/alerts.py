"""Mails that go at once: what may touch results of others, to whoever keeps equipment. The rest is in the digest."""

import logging
from functools import partial

from django.conf import settings
from django.core.mail import send_mail
from django.db import transaction

from labrecords.queries import people

log = logging.getLogger(__name__)


def tell_managers(*, subject: str, body: str) -> None:
    """Mail the managers once this transaction has committed; a mail that cannot be sent undoes nothing."""
    transaction.on_commit(partial(_send, subject, body))


def _send(subject: str, body: str) -> None:
    addresses = people.manager_addresses()
    if not addresses:
        return
    try:
        send_mail(subject, body, settings.DEFAULT_FROM_EMAIL, addresses)
    except OSError:
        # the record stands, and the first page shows it
        log.exception("A mail to the lab managers could not be sent: %s", subject)
