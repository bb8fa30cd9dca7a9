"""Work that is put off until its asker has been answered.

A job is a row that is added in the transaction of the act that asks for it: both are there, or neither is. What each
name does is in tasks/; `manage.py work_jobs` does it.
"""

from procrastinate.contrib.django import app

MAKE_ARCHIVE = "make an archive"


def put_off(name: str, **what: str) -> None:
    """Have the job of this name done, with these texts."""
    app.configure_task(name).defer(**what)
