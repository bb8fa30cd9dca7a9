"""The form for a link to a report."""

from labrecords.rules.links import DEFAULT_DAYS, LONGEST_DAYS

from .fields import Plain, Text, Whole


class LinkForm(Plain):
    """For whom, and for how long."""

    whom = Text(label="For whom", help_text="Such as: Ines Falk, auditor. It stands on the page that the link opens.")
    days = Whole(
        label="For how long",
        unit="days",
        at_least=1,
        initial=DEFAULT_DAYS,
        help_text=f"{LONGEST_DAYS} days at most; it can be revoked before.",
    )
