"""What is done after its asker has been answered; `manage.py work_jobs` does it."""

from . import archives, digests, stalled

__all__ = ["archives", "digests", "stalled"]
