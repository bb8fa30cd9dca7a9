"""Testers and load cells, their calibrations, and what happened to them."""

from django.db import models

from .base import Record, Table
from .people import User


class Equipment(Table):
    """A tester or a load cell. Its calibration and whether it is in service are records of their own."""

    TESTER, CELL = "tester", "cell"
    kind = models.CharField(max_length=10, choices=[(TESTER, "tester"), (CELL, "load cell")])
    label = models.CharField(max_length=20, unique=True, help_text="The code on the item itself.")
    name = models.TextField()
    maker = models.TextField(blank=True)
    model = models.TextField(blank=True)
    serial = models.TextField()
    firmware = models.TextField(blank=True)
    location = models.TextField()
    capacity_n = models.FloatField(help_text="Largest force, in newtons.")
    resolution_n = models.FloatField(null=True, blank=True, help_text="Resolution of the indicator, in newtons.")

    class Meta:
        ordering = ["kind", "label"]
        constraints = [models.CheckConstraint(condition=models.Q(capacity_n__gt=0), name="capacity-above-zero")]

    def __str__(self):
        return f"{self.name} ({self.label})"


class Calibration(Record):
    """One calibration as its certificate states it. It counts once a second person has reviewed it."""

    equipment = models.ForeignKey(Equipment, on_delete=models.PROTECT, related_name="calibrations")
    certificate = models.TextField()
    provider = models.TextField()
    performed_on = models.DateField()
    due_on = models.DateField(help_text="The last day on which it holds, in the laboratory's time zone.")
    passed = models.BooleanField()
    verified_low_n = models.FloatField(null=True, blank=True, help_text="Lower end of the verified range, in newtons.")
    verified_high_n = models.FloatField(null=True, blank=True)
    noise_n = models.FloatField(null=True, blank=True, help_text="Standard deviation of the idle reading, in newtons.")
    expanded_uncertainty_percent = models.FloatField(null=True, blank=True, help_text="k = 2, per cent of reading.")
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["-performed_on", "-at"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(due_on__gte=models.F("performed_on")), name="calibration-dates-in-order"
            )
        ]

    def __str__(self):
        return f"{self.certificate} of {self.equipment_id}"


class CalibrationReview(Record):
    """That a second person has read the certificate. A calibration without it does not count."""

    calibration = models.OneToOneField(Calibration, on_delete=models.PROTECT, related_name="review")
    words = models.TextField()
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    def __str__(self):
        return f"review of {self.calibration}"


class EquipmentEvent(Record):
    """Taken out of service, put back, or retired."""

    OUT, BACK, RETIRED = "out of service", "back in service", "retired"
    equipment = models.ForeignKey(Equipment, on_delete=models.PROTECT, related_name="events")
    kind = models.CharField(max_length=20, choices=[(k, k) for k in (OUT, BACK, RETIRED)])
    happened_at = models.DateTimeField()
    reason = models.TextField()
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["-happened_at", "-at"]

    def __str__(self):
        return f"{self.equipment_id} {self.kind}"
