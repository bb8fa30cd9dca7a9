"""Entries of a zip archive that is the same on every day and every computer."""

import zipfile
from datetime import UTC, datetime


def entry(name: str, moment: datetime) -> zipfile.ZipInfo:
    """An entry dated by a moment that belongs to what is packed, and not by the clock."""
    made = zipfile.ZipInfo(name, moment.astimezone(UTC).timetuple()[:6])
    made.compress_type = zipfile.ZIP_DEFLATED
    made.create_system = 3  # Unix, as the rights that follow are
    made.external_attr = 0o644 << 16
    return made
