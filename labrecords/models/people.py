"""People: who they are, what they may do, and which technique they are authorised for."""

from django.contrib.auth.models import AbstractBaseUser, Group, PermissionsMixin, UserManager
from django.db import models

from .base import Record, Table

TECHNIQUES = [
    ("A", "A: tail unsupported"),
    ("B", "B: tail held by hand at 90 degrees"),
    ("C", "C: tail held at 180 degrees against a rigid plate"),
]


class PersonManager(UserManager):
    """Makes people; a user name is never used again, not even for the same person."""

    def create_person(self, username, *, name, password=None, **fields):
        person = self.model(username=username, name=name, **fields)
        person.set_password(password)
        person.save()
        return person


class User(AbstractBaseUser, PermissionsMixin, Table):
    """A person, or a tester's own account for the programming interface. Roles are groups."""

    username = models.CharField("user name", max_length=80, unique=True)
    name = models.CharField(max_length=120, help_text="As printed beside a signature.")
    email = models.EmailField(blank=True)
    client = models.ForeignKey(
        "labrecords.Client", null=True, blank=True, on_delete=models.PROTECT, related_name="contacts"
    )
    is_active = models.BooleanField(default=True)
    created_at = models.DateTimeField()

    objects = PersonManager()
    USERNAME_FIELD = "username"
    by_badge = False  # of a request: shown by badge and PIN, and so may do the bench's work and no more
    REQUIRED_FIELDS = ["name"]

    class Meta:
        ordering = ["name"]

    def __str__(self):
        return self.name

    @property
    def roles(self) -> frozenset[str]:
        """Names of the roles held; one query, kept for the request."""
        if not hasattr(self, "_roles"):
            self._roles = frozenset(Group.objects.filter(user=self).values_list("name", flat=True))
        return self._roles


class Authorisation(Record):
    """That a person may record results with one technique of one method version, from a day until a day."""

    person = models.ForeignKey(User, on_delete=models.PROTECT, related_name="authorisations")
    method_version = models.ForeignKey("labrecords.MethodVersion", on_delete=models.PROTECT)
    technique = models.CharField(max_length=1, choices=TECHNIQUES)
    from_on = models.DateField()
    until_on = models.DateField(help_text="The last day on which it holds.")
    evidence_kind = models.CharField(
        max_length=12,
        choices=[
            ("validation", "part in a validation study"),
            ("comparison", "comparison with an authorised person"),
            ("observed", "observed runs"),
            ("training", "training and a written test"),
        ],
        default="comparison",
    )
    evidence = models.TextField(help_text="What showed that this person gets the same number as the others.")
    study = models.ForeignKey(
        "labrecords.Study", null=True, blank=True, on_delete=models.PROTECT, related_name="authorisations"
    )
    granted_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(until_on__gte=models.F("from_on")), name="authorisation-dates-in-order"
            )
        ]

    def __str__(self):
        return f"{self.person} for technique {self.technique} until {self.until_on}"


class Withdrawal(Record):
    """The end of an authorisation before its last day."""

    authorisation = models.OneToOneField(Authorisation, on_delete=models.PROTECT, related_name="withdrawal")
    from_on = models.DateField(help_text="The first day on which it no longer holds.")
    reason = models.TextField()
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    def __str__(self):
        return f"{self.authorisation}, withdrawn from {self.from_on}"


class ApiToken(Table):
    """A token for the programming interface: only its SHA-256 is kept, and it can be revoked."""

    person = models.ForeignKey(User, on_delete=models.PROTECT, related_name="tokens")
    label = models.TextField(help_text="Where the token is used, such as the name of a tester's computer.")
    digest = models.CharField(max_length=64, unique=True)
    created_at = models.DateTimeField()
    revoked_at = models.DateTimeField(null=True, blank=True)

    def __str__(self):
        return f"{self.label} ({self.person})"
