"""What is done after its asker has been answered; `manage.py work_jobs` does it."""

from . import archives, stalled

__all__ = ["archives", "stalled"]
