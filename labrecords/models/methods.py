"""Test methods and their versions. A version is issued once and never changed."""

from django.contrib.postgres.fields import ArrayField
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models

from .base import Record, Table
from .people import User


class Method(Table):
    """A way of testing, such as the peel test of pouch seals."""

    code = models.CharField(max_length=20, unique=True)
    title = models.TextField()

    class Meta:
        ordering = ["code"]

    def __str__(self):
        return f"{self.code} {self.title}"


def _fraction(default: float, help_text: str) -> models.FloatField:
    return models.FloatField(
        default=default, help_text=help_text, validators=[MinValueValidator(0.0), MaxValueValidator(1.0)]
    )


class MethodVersion(Record):
    """What a study under this method may choose, and how its traces are reduced.

    Rates are judged in the system in which they are stated: 8 to 12 in/min and 200 to 300 mm/min are two
    ranges, not one converted into the other.
    """

    method = models.ForeignKey(Method, on_delete=models.PROTECT, related_name="versions")
    number = models.PositiveIntegerField()
    reference = models.TextField(help_text="The standard this method follows, with its edition.")
    techniques = ArrayField(models.CharField(max_length=1))
    rate_low_mm_min = models.DecimalField(max_digits=8, decimal_places=3)
    rate_high_mm_min = models.DecimalField(max_digits=8, decimal_places=3)
    rate_low_in_min = models.DecimalField(max_digits=8, decimal_places=3)
    rate_high_in_min = models.DecimalField(max_digits=8, decimal_places=3)
    usual_rate = models.TextField(help_text="What the planning page offers first, such as 11 in/min.")
    widths_mm = ArrayField(models.DecimalField(max_digits=7, decimal_places=3))
    conditioning_hours = models.FloatField(help_text="Least time in the conditioned room before a test.")
    room_low_c = models.FloatField()
    room_high_c = models.FloatField()
    humidity_low_percent = models.FloatField()
    humidity_high_percent = models.FloatField()
    rate_tolerance = _fraction(0.02, "How far a trace's own rate may lie from the locked one, as a share.")
    threshold_fraction = _fraction(0.2, "Share of the peak at which the peel begins and ends.")
    span_fraction = _fraction(0.8, "Central share of the peel over which force is averaged.")
    trace_agreement = _fraction(0.005, "How far a typed peak may lie from the trace's, as a share.")
    noise_share = _fraction(0.01, "Largest share of the expected weak end that the cell's noise may be.")
    check_before_use = models.CharField(
        max_length=10,
        blank=True,
        choices=[("mass", "a check mass"), ("strip", "a reference strip")],
        help_text="What tester and cell are checked with each day before they are used, if anything.",
    )
    check_tolerance = _fraction(0.01, "How far a check mass may read from its force, as a share.")
    disuse_months = models.PositiveSmallIntegerField(
        default=0, help_text="Months without a result after which an authorisation lapses; 0: it does not."
    )
    modes = models.JSONField(help_text="Failure modes: key, name, description, whether the strip peels.")
    void_causes = models.JSONField(help_text="Causes for which a result may be void: key and words.")
    replacement_cap = models.PositiveIntegerField(help_text="Most replacements in one group.")
    issued_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["method__code", "-number"]
        constraints = [models.UniqueConstraint(fields=["method", "number"], name="method-version-once")]

    def __str__(self):
        return f"{self.method.code} version {self.number}"
