"""Equipment of every kind, its documents and calibrations, the checks before use, and what happened to it."""

from django.contrib.postgres.fields import ArrayField
from django.db import models

from .base import Record, Table
from .people import User

NAMES = {
    "tester": "tester",
    "cell": "load cell",
    "gauge": "width gauge",
    "cutter": "strip cutter",
    "sensor": "room sensor",
    "mass": "check mass",
    "strip": "reference strips",
}


class Equipment(Table):
    """An item of equipment (ISO/IEC 17025, 6.4.13). Its calibration and its service are records of their own."""

    TESTER, CELL, GAUGE, CUTTER, SENSOR, MASS, STRIP = NAMES
    FORCE = (TESTER, CELL)
    STANDARDS = (MASS, STRIP)
    kind = models.CharField(max_length=10, choices=list(NAMES.items()))
    label = models.CharField(max_length=20, unique=True, help_text="The code on the item itself.")
    name = models.TextField()
    maker = models.TextField(blank=True)
    model = models.TextField(blank=True)
    serial = models.TextField()
    firmware = models.TextField(blank=True)
    location = models.TextField()
    capacity_n = models.FloatField(null=True, blank=True, help_text="Largest force, in newtons; testers and cells.")
    resolution_n = models.FloatField(null=True, blank=True, help_text="Resolution of the indicator, in newtons.")
    nominal_n = models.FloatField(null=True, blank=True, help_text="Force it gives, in newtons; check standards.")
    acceptance = models.TextField(blank=True, help_text="What it has to meet to be used.")
    maintenance = models.TextField(blank=True, help_text="What is done to keep it fit, and how often.")
    interval_months = models.PositiveSmallIntegerField(
        null=True, blank=True, help_text="Proposed time between calibrations; none where it needs none."
    )
    edition = models.PositiveIntegerField(default=1, help_text="Counts its changes, so that none is overwritten.")

    class Meta:
        ordering = ["kind", "label"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(capacity_n__gt=0) | models.Q(capacity_n__isnull=True), name="capacity-above-zero"
            ),
            models.CheckConstraint(
                condition=models.Q(capacity_n__isnull=False) | ~models.Q(kind__in=["tester", "cell"]),
                name="force-has-capacity",
            ),
            models.CheckConstraint(
                condition=models.Q(nominal_n__gt=0) | ~models.Q(kind__in=["mass", "strip"]), name="standard-has-force"
            ),
        ]

    def __str__(self):
        return f"{self.name} ({self.label})"


class EquipmentDocument(Record):
    """A manual, a drawing, a certificate: its bytes as they came."""

    equipment = models.ForeignKey(Equipment, on_delete=models.PROTECT, related_name="documents")
    title = models.TextField()
    name = models.TextField()
    media_type = models.TextField()
    size = models.PositiveIntegerField()
    sha256 = models.CharField(max_length=64)
    content = models.BinaryField()
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["-at", "-pk"]
        constraints = [models.UniqueConstraint(fields=["equipment", "sha256"], name="document-once")]

    def __str__(self):
        return self.title


class Calibration(Record):
    """One calibration as its certificate states it. It counts once a second person has reviewed it.

    Points are rows of texts, applied force first and then what was read, in newtons (in the item's own unit for
    gauges and sensors). A wrong record is never changed: another one supersedes it, with the reason.
    """

    equipment = models.ForeignKey(Equipment, on_delete=models.PROTECT, related_name="calibrations")
    certificate = models.TextField()
    provider = models.TextField()
    accreditation = models.TextField(blank=True, help_text="Accreditation number of the provider.")
    performed_on = models.DateField()
    due_on = models.DateField(help_text="The last day on which it holds, in the laboratory's time zone.")
    due_reason = models.TextField(blank=True, help_text="Why the due date is not the proposed one.")
    passed = models.BooleanField(help_text="As left, within tolerance.")
    rule = models.CharField(max_length=12, blank=True, help_text="By what the verified range was found; none: stated.")
    as_found = models.JSONField(default=list, blank=True)
    as_left = models.JSONField(default=list, blank=True, help_text="Empty where nothing was adjusted.")
    as_found_within = models.BooleanField(null=True, blank=True, help_text="None: not taken.")
    as_found_error_percent = models.FloatField(null=True, blank=True, help_text="Largest error as found, per cent.")
    verified_low_n = models.FloatField(null=True, blank=True, help_text="Lower end of the verified range, in newtons.")
    verified_high_n = models.FloatField(null=True, blank=True)
    noise_n = models.FloatField(null=True, blank=True, help_text="Standard deviation of the idle reading, in newtons.")
    expanded_uncertainty_percent = models.FloatField(null=True, blank=True, help_text="Per cent of reading.")
    coverage_factor = models.FloatField(default=2.0, help_text="k of the expanded uncertainty.")
    document = models.ForeignKey(
        EquipmentDocument, null=True, blank=True, on_delete=models.PROTECT, related_name="calibrations"
    )
    supersedes = models.OneToOneField(
        "self", null=True, blank=True, on_delete=models.PROTECT, related_name="superseded_by", editable=False
    )
    supersedes_reason = models.TextField(blank=True)
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["-performed_on", "-at", "-pk"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(due_on__gte=models.F("performed_on")), name="calibration-dates-in-order"
            ),
            models.CheckConstraint(
                condition=models.Q(supersedes__isnull=True) | ~models.Q(supersedes_reason=""),
                name="superseded-with-reason",
            ),
        ]

    def __str__(self):
        return f"{self.certificate} of {self.equipment_id}"

    @property
    def standard_uncertainty_percent(self) -> float | None:
        if self.expanded_uncertainty_percent is None:
            return None
        return self.expanded_uncertainty_percent / self.coverage_factor


class CalibrationReview(Record):
    """That a second person has read the certificate. A calibration without it does not count."""

    calibration = models.OneToOneField(Calibration, on_delete=models.PROTECT, related_name="review")
    words = models.TextField()
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    def __str__(self):
        return f"review of {self.calibration}"


class EquipmentEvent(Record):
    """What happened to an item. Whoever adjusts or repairs takes it out of service until it has been shown right."""

    OUT, BACK, RETIRED = "out of service", "back in service", "retired"
    CHECKED, ADJUSTED, REPAIRED, MAINTAINED, MOVED = "checked", "adjusted", "repaired", "maintained", "changed"
    STOPS = (OUT, RETIRED, ADJUSTED, REPAIRED)
    SERVICE = (*STOPS, BACK)
    equipment = models.ForeignKey(Equipment, on_delete=models.PROTECT, related_name="events")
    kind = models.CharField(max_length=20, choices=[(k, k) for k in (*SERVICE, CHECKED, MAINTAINED, MOVED)])
    happened_at = models.DateTimeField()
    reason = models.TextField()
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["-happened_at", "-at", "-pk"]

    def __str__(self):
        return f"{self.equipment_id} {self.kind}"


class CheckBaseline(Record):
    """Limits for the checks of one tester with one cell against one standard, from named earlier readings."""

    tester = models.ForeignKey(Equipment, on_delete=models.PROTECT, related_name="+")
    cell = models.ForeignKey(Equipment, on_delete=models.PROTECT, related_name="baselines")
    standard = models.ForeignKey(Equipment, on_delete=models.PROTECT, related_name="+")
    name = models.TextField(help_text="Which readings it rests on, in words.")
    readings = models.PositiveSmallIntegerField()
    centre_n = models.FloatField()
    moving_range_n = models.FloatField(help_text="Mean moving range of two.")
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["-at", "-pk"]

    def __str__(self):
        return self.name


class CheckReading(Record):
    """A check before use: what tester and cell showed for a mass or a reference strip, and whether that is accepted."""

    tester = models.ForeignKey(Equipment, on_delete=models.PROTECT, related_name="+")
    cell = models.ForeignKey(Equipment, on_delete=models.PROTECT, related_name="checks")
    standard = models.ForeignKey(Equipment, on_delete=models.PROTECT, related_name="+")
    value_n = models.FloatField()
    taken_at = models.DateTimeField()
    accepted = models.BooleanField()
    signals = ArrayField(models.CharField(max_length=40), default=list)
    baseline = models.ForeignKey(CheckBaseline, null=True, on_delete=models.PROTECT, related_name="+")
    remark = models.TextField(blank=True)
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["-taken_at", "-at", "-pk"]
        indexes = [models.Index(fields=["cell", "tester", "standard", "taken_at"], name="check-by-cell")]

    def __str__(self):
        return f"{self.value_n:g} N on {self.taken_at}"
