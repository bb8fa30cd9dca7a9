"""Runs and what came of them: results, voids, refusals, deviations. All but the run are kept as they are."""

from django.contrib.postgres.fields import ArrayField
from django.db import models

from .base import Record, Table
from .equipment import Equipment
from .people import TECHNIQUES, User
from .samples import Specimen
from .studies import Study


class Run(Table):
    """One person, one tester, one load cell, one room reading, one stretch of time; results hang on it."""

    study = models.ForeignKey(Study, on_delete=models.PROTECT, related_name="runs")
    number = models.PositiveSmallIntegerField()
    person = models.ForeignKey(User, on_delete=models.PROTECT, related_name="runs")
    tester = models.ForeignKey(Equipment, on_delete=models.PROTECT, related_name="+")
    cell = models.ForeignKey(Equipment, on_delete=models.PROTECT, related_name="+")
    technique = models.CharField(max_length=1, choices=TECHNIQUES)
    rate = models.DecimalField(max_digits=9, decimal_places=3)
    rate_unit = models.CharField(max_length=10)
    room_sensor = models.ForeignKey(Equipment, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    width_gauge = models.ForeignKey(Equipment, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    room_c = models.FloatField()
    room_humidity_percent = models.FloatField()
    cell_accepted_by = models.ForeignKey(User, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    cell_accepted_why = models.TextField(blank=True)
    opened_at = models.DateTimeField()
    closed_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["number"]
        constraints = [
            models.UniqueConstraint(fields=["study", "number"], name="run-number-once"),
            models.CheckConstraint(condition=models.Q(rate_unit__in=["in/min", "mm/min"]), name="run-rate-unit-known"),
        ]

    def __str__(self):
        return f"run {self.number}"


class Result(Record):
    """What one specimen gave. Never edited: a correction is the next revision."""

    specimen = models.ForeignKey(Specimen, on_delete=models.PROTECT, related_name="results")
    revision = models.PositiveSmallIntegerField(default=1)
    supersedes = models.OneToOneField("self", null=True, on_delete=models.PROTECT, related_name="superseded_by")
    correction = models.OneToOneField("Correction", null=True, on_delete=models.PROTECT, related_name="made")
    run = models.ForeignKey(Run, on_delete=models.PROTECT, related_name="results")
    technique = models.CharField(max_length=1, choices=TECHNIQUES)
    rate = models.DecimalField(max_digits=9, decimal_places=3)
    rate_unit = models.CharField(max_length=10)
    width_mm = models.DecimalField(max_digits=7, decimal_places=3)
    recorded = models.TextField(blank=True, help_text="The maximum force or strength exactly as it came.")
    recorded_unit = models.CharField(max_length=12, blank=True)
    source = models.CharField(max_length=8, choices=[("typed", "typed"), ("trace", "trace")])
    peak_force_n = models.FloatField(null=True, blank=True)
    mean_force_n = models.FloatField(null=True, blank=True)
    strength = models.DecimalField(
        null=True,
        max_digits=20,
        decimal_places=9,
        help_text="Maximum force over width, in the unit of the set-up, to nine decimals.",
    )
    mean_strength = models.DecimalField(null=True, max_digits=20, decimal_places=9)
    censored = models.CharField(
        max_length=5,
        blank=True,
        choices=[("below", "below what can be measured"), ("above", "above what can be measured")],
        help_text="Known only to lie beyond an end of what the equipment can measure.",
    )
    censored_at = models.DecimalField(
        null=True,
        max_digits=20,
        decimal_places=9,
        help_text="That end, as a strength in the unit of the set-up; empty for a seal that had opened.",
    )
    modes = ArrayField(models.CharField(max_length=2), help_text="How the strip came apart.")
    marks = ArrayField(models.CharField(max_length=30), default=list)
    remark = models.TextField(blank=True)
    tested_at = models.DateTimeField()
    tested_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    entered_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["tested_at", "at", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["specimen", "revision"], name="specimen-done"),
            models.CheckConstraint(condition=models.Q(rate_unit__in=["in/min", "mm/min"]), name="rate-unit-known"),
        ]

    def __str__(self):
        return f"result {self.revision} of {self.specimen_id}"


class Void(Record):
    """That a result, or a specimen before its test, does not count. The values stay and are printed."""

    specimen = models.OneToOneField(Specimen, on_delete=models.PROTECT, related_name="void")
    cause = models.CharField(max_length=30)
    words = models.TextField()
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    def __str__(self):
        return f"{self.specimen_id} void: {self.cause}"


class Refusal(Record):
    """An entry that was not kept, and why: stored, counted, and shown as the person saw it."""

    study = models.ForeignKey(Study, null=True, on_delete=models.PROTECT, related_name="refusals")
    specimen = models.ForeignKey(Specimen, null=True, on_delete=models.PROTECT, related_name="refusals")
    run = models.ForeignKey(Run, null=True, on_delete=models.PROTECT, related_name="refusals")
    act = models.TextField(help_text="What was asked for.")
    tried = models.TextField()
    codes = ArrayField(models.CharField(max_length=40))
    answers = models.JSONField(help_text="Every reason with its facts and the words shown.")
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["-at", "-pk"]

    def __str__(self):
        return ", ".join(self.codes)


class Entry(Record):
    """One sending of an entry: its key, what was sent, and the answer, given again when it is sent again."""

    key = models.UUIDField(unique=True)
    entered_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    body_sha256 = models.CharField(max_length=64)
    result = models.OneToOneField(Result, null=True, on_delete=models.PROTECT, related_name="entry")
    refusal = models.OneToOneField(Refusal, null=True, on_delete=models.PROTECT, related_name="entry")
    noticed = ArrayField(
        models.CharField(max_length=40), default=list, help_text="Checks that were confirmed, and notes."
    )

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(result__isnull=False, refusal__isnull=True)
                | models.Q(result__isnull=True, refusal__isnull=False),
                name="entry-has-one-answer",
            )
        ]

    def __str__(self):
        return str(self.key)


class Deviation(Record):
    """Why a kept result waits for somebody's decision. Whoever decides is not shown the value."""

    result = models.ForeignKey(Result, on_delete=models.PROTECT, related_name="deviations")
    code = models.CharField(max_length=40)
    facts = models.JSONField()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["result", "code"], name="deviation-once")]

    def __str__(self):
        return self.code


class DeviationDecision(Record):
    """That a result kept under a deviation counts, or does not."""

    deviation = models.OneToOneField(Deviation, on_delete=models.PROTECT, related_name="decision")
    counts = models.BooleanField()
    words = models.TextField()
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    def __str__(self):
        return "counts" if self.counts else "does not count"
