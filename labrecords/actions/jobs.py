"""Work that is put off until its asker has been answered.

A job is a row that is added in the transaction of the act that asks for it: both are there, or neither is. What each
name does is in tasks/; `manage.py work_jobs` does it.
"""

from django.db import transaction
from procrastinate.contrib.django import app
from procrastinate.exceptions import AlreadyEnqueued

MAKE_ARCHIVE = "make an archive"
SEND_DIGEST = "send a digest"


def put_off(name: str, *, once: str = "", **what: str) -> bool:
    """Have the job of this name done, with these texts; False where one under the same `once` waits already."""
    try:
        with transaction.atomic():  # a job that waits already undoes nothing else
            app.configure_task(name, queueing_lock=once or None).defer(**what)
    except AlreadyEnqueued:
        return False
    return True
