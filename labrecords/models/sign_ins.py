"""Who tried to sign in, from where, and whether it went well: what limits guessing, and a log of its own."""

from django.db import models

from .base import Record


class SignIn(Record):
    """One try. A name that nobody has is kept as a hash: it may have been a password, typed one field too early."""

    BY_PASSWORD, BY_BADGE = "password", "badge"

    username = models.CharField(max_length=80)
    address = models.CharField(max_length=45, help_text="From where, as far as the server can tell.")
    succeeded = models.BooleanField()
    way = models.CharField(
        max_length=8,
        choices=[(BY_PASSWORD, "name and password"), (BY_BADGE, "badge and PIN")],
        default=BY_PASSWORD,
        help_text="What was shown.",
    )

    class Meta:
        indexes = [models.Index(fields=["username", "-at"]), models.Index(fields=["address", "-at"])]

    def __str__(self):
        return f"{self.username} from {self.address}"
