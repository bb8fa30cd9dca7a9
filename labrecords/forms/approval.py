"""The form of a second person's word on what somebody else proposed."""

from .fields import Choice, Plain, Words


class ApprovalForm(Plain):
    """Yes or no to a proposed limit or a budget, and what was looked at."""

    approved = Choice(label="Decision", choices=[("", "Choose one"), ("yes", "Approve it"), ("no", "No")])
    words = Words(label="What was looked at")
