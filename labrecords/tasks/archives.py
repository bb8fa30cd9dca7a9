"""Makes the archives that were asked for."""

import logging

from procrastinate import JobContext, RetryStrategy
from procrastinate.contrib.django import app

from labrecords import web
from labrecords.actions import archive as actions
from labrecords.actions.jobs import MAKE_ARCHIVE
from labrecords.queries import archives

AGAIN = 2  # times it is tried again, in case the database or the disk was away
PROBLEM = "It could not be made, three times over. What went wrong is in the server's log."
log = logging.getLogger(__name__)


@app.task(name=MAKE_ARCHIVE, retry=RetryStrategy(max_attempts=AGAIN, wait=2), pass_context=True)
def make(context: JobContext, *, order: str) -> None:
    """Make one archive; whoever asked is told when it cannot be made."""
    asked = archives.one(order)
    try:
        actions.make(asked=asked, at=web.now())
    except Exception:
        if context.job.attempts >= AGAIN:
            log.exception("The archive %s could not be made.", order)
            actions.give_up(asked=asked, problem=PROBLEM, at=web.now())
        raise
