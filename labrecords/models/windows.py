"""Window studies: the sealing settings side by side, what else was seen of them, and the limits that come of them."""

from django.db import models

from .base import Record, Table
from .people import User


class SealingWindow(Table):
    """That a study looks for a process window, and with which sealer."""

    study = models.OneToOneField("Study", on_delete=models.PROTECT, related_name="window")
    sealer = models.TextField(help_text="The machine that sealed, with its number.")
    openings = models.BooleanField(help_text="The pack is to be peeled open by hand, so an upper limit is sought too.")

    def __str__(self):
        return f"window study on {self.sealer}"


class SealingSetting(Table):
    """How one lot of a window study was sealed. As stated; a machine that does not show a pressure has none."""

    LOW, NOMINAL, HIGH, CORNER = "low", "nominal", "high", "corner"
    window = models.ForeignKey(SealingWindow, on_delete=models.PROTECT, related_name="settings")
    number = models.PositiveSmallIntegerField()
    lot = models.TextField(help_text="The client's lot, as in the plan's groups.")
    kind = models.CharField(max_length=8, choices=[(k, k) for k in (LOW, NOMINAL, HIGH, CORNER)])
    label = models.TextField(help_text="Low, nominal, hot and short ...")
    temperature = models.DecimalField(max_digits=7, decimal_places=2)
    temperature_unit = models.CharField(max_length=2, choices=[("°C", "°C"), ("°F", "°F")])
    dwell_s = models.DecimalField(max_digits=7, decimal_places=3)
    pressure = models.DecimalField(max_digits=9, decimal_places=3, null=True, blank=True)
    pressure_unit = models.CharField(max_length=4, blank=True, choices=[(unit, unit) for unit in ("kPa", "bar", "psi")])

    class Meta:
        ordering = ["number"]
        constraints = [
            models.UniqueConstraint(fields=["window", "number"], name="setting-number-once"),
            models.UniqueConstraint(fields=["window", "lot"], name="setting-lot-once"),
            models.UniqueConstraint(fields=["window", "label"], name="setting-label-once"),
            models.UniqueConstraint(fields=["window"], condition=models.Q(kind="nominal"), name="setting-nominal-once"),
            models.CheckConstraint(
                condition=models.Q(pressure__isnull=True, pressure_unit="")
                | models.Q(pressure__isnull=False) & ~models.Q(pressure_unit=""),
                name="pressure-has-a-unit",
            ),
        ]

    def __str__(self):
        return self.label

    @property
    def words(self) -> str:
        """The setting as stated, such as 124 °C, 1.2 s, 4 bar."""
        parts = [f"{self.temperature.normalize():f} {self.temperature_unit}", f"{self.dwell_s.normalize():f} s"]
        if self.pressure is not None:
            parts.append(f"{self.pressure.normalize():f} {self.pressure_unit}")
        return ", ".join(parts)


class SettingEvidence(Record):
    """What was seen of a setting's seals besides their force: by eye, of integrity, or when opened by hand."""

    VISUAL, INTEGRITY, OPENING = "visual", "integrity", "opening"
    KINDS = (VISUAL, INTEGRITY, OPENING)
    setting = models.ForeignKey(SealingSetting, on_delete=models.PROTECT, related_name="evidence")
    kind = models.CharField(max_length=10, choices=[(k, k) for k in KINDS])
    passed = models.BooleanField()
    words = models.TextField(help_text="What was done and seen, on how many packs, and in which report it stands.")
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["at", "pk"]

    def __str__(self):
        return f"{self.kind} of {self.setting}"


class DerivedLimit(Record):
    """One version of a process limit proposed from a window study; it counts once a second person has approved it."""

    code = models.CharField(max_length=20)
    version = models.PositiveSmallIntegerField()
    supersedes = models.OneToOneField(
        "self", null=True, on_delete=models.PROTECT, related_name="superseded_by", editable=False
    )
    study = models.ForeignKey("Study", on_delete=models.PROTECT, related_name="derived_limits")
    side = models.CharField(max_length=5, choices=[("lower", "at least"), ("upper", "at most")])
    value = models.DecimalField(max_digits=12, decimal_places=6)
    unit = models.CharField(max_length=12)
    bound = models.FloatField(help_text="The tolerance bound from which it starts, in the same unit.")
    bound_of = models.TextField(help_text="Setting and place of that bound.")
    margin_percent = models.DecimalField(max_digits=5, decimal_places=2)
    rationale = models.TextField()
    lacking = models.TextField(blank=True, help_text="Evidence that was missing when it was proposed.")
    content = models.JSONField(help_text="The window's numbers and the alternatives as they stood.")
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["-code", "-version"]
        constraints = [models.UniqueConstraint(fields=["code", "version"], name="limit-version-once")]

    def __str__(self):
        return f"{self.code} version {self.version}"


class LimitDecision(Record):
    """A second person's word on a proposed limit."""

    limit = models.OneToOneField(DerivedLimit, on_delete=models.PROTECT, related_name="decision")
    approved = models.BooleanField()
    words = models.TextField()
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    def __str__(self):
        return f"{'approval' if self.approved else 'rejection'} of {self.limit_id}"
