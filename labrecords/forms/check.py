"""Which report is to be checked."""

from .fields import Asking, Text


class CheckForm(Asking):
    """Number and code, both printed on the report."""

    report = Text(label="Number of the report", help_text="Such as R-2026-0001.", max_length=20)
    code = Text(
        label="Code", help_text="The first twelve digits of its content's SHA-256, or all of them.", max_length=64
    )
