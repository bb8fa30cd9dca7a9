"""Validation studies: who pulls, what was agreed beforehand, in which order, and what the manager made of it."""

from django.core.validators import MinValueValidator
from django.db import models

from labrecords.rules.validation_plan import DESIGNS, KINDS

from .base import Record, Table
from .people import User
from .samples import Specimen


class ValidationPlan(Table):
    """That a study shows whether people get the same number, and what must be met; frozen with the set-up."""

    study = models.OneToOneField("Study", on_delete=models.PROTECT, related_name="validation")
    design = models.CharField(max_length=8, choices=[(design, words) for design, words in DESIGNS.items()])
    margin = models.DecimalField(
        max_digits=9,
        decimal_places=4,
        validators=[MinValueValidator(0)],
        help_text="Difference from the others that does not matter, in the unit of the set-up.",
    )
    reason = models.TextField(help_text="Why this margin and these criteria.")

    def __str__(self):
        return f"validation in {self.study_id}"


class ValidationPerson(Table):
    """Somebody who pulls strips of a validation study; whoever joins is held against the others."""

    plan = models.ForeignKey(ValidationPlan, on_delete=models.PROTECT, related_name="people")
    person = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    joins = models.BooleanField(help_text="To be added to a group whose method has been validated.")

    class Meta:
        ordering = ["joins", "person__name"]
        constraints = [models.UniqueConstraint(fields=["plan", "person"], name="validation-person-once")]

    def __str__(self):
        return f"{self.person_id} in {self.plan_id}"


class Criterion(Table):
    """One thing that must be met, besides the margin between people. All are shares, in per cent."""

    plan = models.ForeignKey(ValidationPlan, on_delete=models.PROTECT, related_name="criteria")
    kind = models.CharField(max_length=14, choices=[(kind, words) for kind, words in KINDS.items()])
    percent = models.DecimalField(max_digits=6, decimal_places=2, validators=[MinValueValidator(0)])

    class Meta:
        ordering = ["kind"]
        constraints = [models.UniqueConstraint(fields=["plan", "kind"], name="criterion-once")]

    def __str__(self):
        return f"{self.kind} {self.percent} %"


class PullOrder(Record):
    """Which strip goes to whom, and in which order, by chance: anybody can draw it again from its seed."""

    study = models.OneToOneField("Study", on_delete=models.PROTECT, related_name="pull_order")
    seed = models.CharField(max_length=32)
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    def __str__(self):
        return f"order of {self.study_id}"


class PullPlace(Record):
    """A strip's place in the drawn order. A replacement takes the place of the strip that it replaces."""

    order = models.ForeignKey(PullOrder, on_delete=models.PROTECT, related_name="places")
    specimen = models.OneToOneField(Specimen, on_delete=models.PROTECT, related_name="pull_place")
    person = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    number = models.PositiveSmallIntegerField(help_text="Among the strips of that person, from 1.")

    class Meta:
        ordering = ["number", "specimen__label"]

    def __str__(self):
        return f"{self.specimen_id}, place {self.number}"


class ValidationDecision(Record):
    """What the manager made of a validation study, with its numbers as they stood."""

    study = models.OneToOneField("Study", on_delete=models.PROTECT, related_name="validation_decision")
    passed = models.BooleanField()
    words = models.TextField()
    content = models.JSONField()
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    def __str__(self):
        return f"decision on validation {self.study_id}"
