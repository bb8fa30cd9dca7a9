"""The form by which the records behind a report are taken."""

from .fields import Plain, Text


class ArchiveForm(Plain):
    """For whom the archive is made."""

    whom = Text(label="For whom", help_text="For example: the client's auditor, visit of 3 May 2026. It is kept.")
