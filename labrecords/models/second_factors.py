"""What a person shows besides the password: an authenticator app or a passkey, and codes for the day it is lost."""

from django.db import models

from labrecords.rules.second_factor import APP, PASSKEY

from .base import Table
from .people import User


class SecondFactor(Table):
    """An authenticator app or a passkey of a person. Only its counter, its last use and its end are ever written."""

    person = models.ForeignKey(User, on_delete=models.PROTECT, related_name="second_factors")
    kind = models.CharField(max_length=8, choices=[(APP, "authenticator app"), (PASSKEY, "passkey")])
    name = models.CharField(max_length=60, help_text="The person's own name for it.")
    secret = models.BinaryField(null=True, help_text="Of an app; encrypted with a key that is not in the database.")
    credential_id = models.BinaryField(null=True, unique=True)
    public_key = models.BinaryField(null=True, help_text="Of a passkey, as COSE.")
    site = models.CharField(max_length=253, blank=True, help_text="The host name to which a passkey is bound.")
    counter = models.BigIntegerField(
        default=0, help_text="The last step of an app's code that was taken; the last count of a passkey's signatures."
    )
    added_at = models.DateTimeField()
    last_used_at = models.DateTimeField(null=True)
    ended_at = models.DateTimeField(null=True)
    ended_by = models.ForeignKey(User, null=True, on_delete=models.PROTECT, related_name="+")
    ended_why = models.TextField(blank=True)

    class Meta:
        ordering = ["added_at", "id"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(kind=APP, secret__isnull=False, credential_id__isnull=True, public_key__isnull=True)
                | models.Q(kind=PASSKEY, secret__isnull=True, credential_id__isnull=False, public_key__isnull=False),
                name="factor-has-its-parts",
            ),
            models.CheckConstraint(
                condition=models.Q(ended_at__isnull=True, ended_by__isnull=True)
                | models.Q(ended_at__isnull=False, ended_by__isnull=False),
                name="factor-end-has-a-person",
            ),
        ]

    def __str__(self):
        return f"{self.get_kind_display()} “{self.name}”"


class RecoveryCode(Table):
    """A code that stands for a lost second factor, once. Only its SHA-256 is kept."""

    person = models.ForeignKey(User, on_delete=models.PROTECT, related_name="recovery_codes")
    digest = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField()
    used_at = models.DateTimeField(null=True)
    ended_at = models.DateTimeField(null=True, help_text="When others were made, or no second factor was left.")

    def __str__(self):
        return f"recovery code of {self.person}"
