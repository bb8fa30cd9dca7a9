"""What the client sent: lots, packs, specimens, and where each has been."""

from django.db import models

from .base import Record, Table
from .equipment import Equipment
from .people import User
from .studies import PlanGroup, Study


class Lot(Table):
    """A sample lot as received."""

    study = models.ForeignKey(Study, on_delete=models.PROTECT, related_name="lots")
    label = models.CharField(max_length=20, unique=True)
    name = models.TextField(help_text="The client's lot, as in the plan.")
    description = models.TextField()
    received_at = models.DateTimeField()
    condition = models.TextField(help_text="Condition on receipt.")
    sealed_how = models.TextField(help_text="How and with what the seals were made, or not known, with why.")
    sampled_by = models.TextField(help_text="Who drew the sample, and how.")
    sampled_on = models.TextField(help_text="The day on which it was drawn, or not known, with why.")
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["label"]
        constraints = [models.UniqueConstraint(fields=["study", "name"], name="lot-once")]

    def __str__(self):
        return f"{self.name} ({self.label})"


class Conditioning(Record):
    """That a lot was put into the conditioned room, and what the room read then."""

    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="conditionings")
    started_at = models.DateTimeField()
    temperature_c = models.FloatField()
    humidity_percent = models.FloatField()
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    def __str__(self):
        return f"{self.lot} conditioned from {self.started_at}"


class Discrepancy(Record):
    """Something on receipt that is not as agreed. The lot waits until the client has answered."""

    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="discrepancies")
    words = models.TextField(help_text="What was expected, and what came.")
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["at", "pk"]

    def __str__(self):
        return f"discrepancy of {self.lot_id}"


class DiscrepancyAnswer(Record):
    """What the client said of a discrepancy; tested all the same, the report carries the disclaimer."""

    discrepancy = models.OneToOneField(Discrepancy, on_delete=models.PROTECT, related_name="answer")
    proceeds = models.BooleanField(help_text="The lot is tested all the same.")
    words = models.TextField()
    said_by = models.TextField(help_text="Who at the client said so, and how.")
    said_on = models.DateField()
    disclaimer = models.TextField(blank=True, help_text="What the report says of it.")
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    def __str__(self):
        return f"answer to {self.discrepancy}"


class Treatment(Record):
    """What an arm of a lot went through before it was tested: sterilisation, ageing, shipping."""

    STERILISED, AGED, SHIPPED, OTHER = "sterilised", "aged", "shipped", "other"
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="treatments")
    arm = models.TextField()
    time_point = models.TextField(blank=True)
    kind = models.CharField(max_length=10, choices=[(k, k) for k in (STERILISED, AGED, SHIPPED, OTHER)])
    evidence = models.TextField(help_text="Certificate, chamber record or test report that shows it.")
    chamber = models.TextField(blank=True)
    started_on = models.DateField()
    ended_on = models.DateField()
    ageing_c = models.FloatField(null=True, blank=True)
    ambient_c = models.FloatField(null=True, blank=True)
    q10 = models.FloatField(null=True, blank=True)
    simulated_days = models.FloatField(null=True, blank=True, help_text="Days at ambient that the ageing stands for.")
    pull_from = models.DateField(null=True, blank=True, help_text="First day on which the strips may be pulled.")
    pull_until = models.DateField(null=True, blank=True)
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["arm", "time_point", "at", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(ended_on__gte=models.F("started_on")), name="treatment-dates-in-order"
            )
        ]

    def __str__(self):
        return f"{self.kind} until {self.ended_on}"


class Pack(Table):
    """One pouch. The pack is the unit: strips cut from one pack are not independent."""

    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="packs")
    label = models.CharField(max_length=20, unique=True)
    number = models.PositiveSmallIntegerField()

    class Meta:
        ordering = ["label"]
        constraints = [models.UniqueConstraint(fields=["lot", "number"], name="pack-number-once")]

    def __str__(self):
        return self.label


class Specimen(Table):
    """One strip to be pulled apart, once. A retest is a new specimen that names the one it replaces."""

    study = models.ForeignKey(Study, on_delete=models.PROTECT, related_name="specimens")
    group = models.ForeignKey(PlanGroup, null=True, on_delete=models.PROTECT, related_name="specimens")
    pack = models.ForeignKey(Pack, on_delete=models.PROTECT, related_name="specimens")
    label = models.CharField(max_length=20, unique=True)
    replaces = models.OneToOneField(
        "self", null=True, on_delete=models.PROTECT, related_name="replacement", editable=False
    )
    cut_at = models.DateTimeField()
    cut_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    cutter = models.ForeignKey(Equipment, null=True, on_delete=models.PROTECT, related_name="+")
    cutter_check = models.TextField(blank=True, help_text="What was looked at on the cutter before the first cut.")

    class Meta:
        ordering = ["label"]

    def __str__(self):
        return self.label


class CustodyEvent(Record):
    """Where a lot was and in whose hands: received, stored, conditioned, cut, tested, returned."""

    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="custody")
    act = models.TextField()
    place = models.TextField()
    words = models.TextField(blank=True)
    happened_at = models.DateTimeField()
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["happened_at", "at", "pk"]

    def __str__(self):
        return f"{self.lot_id} {self.act}"
