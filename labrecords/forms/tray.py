"""Forms of the tray: whose a file is, or why it is set aside."""

from .fields import Choice, Plain, Words


class GiveForm(Plain):
    """The run or the study to which a file belongs."""

    to = Choice(label="It belongs to", empty="Choose a run or a study")


class AsideForm(Plain):
    """Why a file is nobody's."""

    reason = Words(label="Why it is set aside", rows=2)
