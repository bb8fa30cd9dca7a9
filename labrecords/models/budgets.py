"""Uncertainty budgets: what a strength is known to, by a method version and technique, and who has approved it."""

from django.db import models

from .base import Record
from .people import TECHNIQUES, User


class UncertaintyBudget(Record):
    """A budget as it was worked out. It counts once a second person has approved it, and is never rewritten."""

    code = models.CharField(max_length=20, unique=True)
    method_version = models.ForeignKey("MethodVersion", on_delete=models.PROTECT, related_name="budgets")
    technique = models.CharField(max_length=1, choices=TECHNIQUES)
    level = models.DecimalField(max_digits=12, decimal_places=6, help_text="Strength for which it was worked out.")
    unit = models.CharField(max_length=12, help_text="Of the strength, and of every contribution to it.")
    coverage = models.DecimalField(max_digits=6, decimal_places=5)
    combined = models.FloatField(help_text="Combined standard uncertainty, in the unit.")
    effective_df = models.FloatField(null=True, help_text="Effective degrees of freedom; none where without end.")
    factor = models.FloatField(help_text="Coverage factor.")
    expanded = models.FloatField(help_text="Expanded uncertainty, in the unit.")
    lines = models.JSONField(help_text="The contributions as stated, and what came of each.")
    rationale = models.TextField()
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["-code"]

    def __str__(self):
        return self.code

    @property
    def share(self) -> float:
        """The expanded uncertainty as a share of the strength."""
        return self.expanded / float(self.level)


class BudgetDecision(Record):
    """A second person's word on an uncertainty budget."""

    budget = models.OneToOneField(UncertaintyBudget, on_delete=models.PROTECT, related_name="decision")
    approved = models.BooleanField()
    words = models.TextField()
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    def __str__(self):
        return f"{'approval' if self.approved else 'rejection'} of {self.budget_id}"
