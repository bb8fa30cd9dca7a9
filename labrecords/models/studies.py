"""Studies: the question, the set-up that may never change once locked, the plan and the limits."""

from django.db import models

from labrecords.rules.bound_rule import NORMAL
from labrecords.rules.protocol import AGREEMENTS, CLIENT

from .base import Table
from .clients import Project
from .methods import MethodVersion
from .people import TECHNIQUES, User


class Study(Table):
    """One question put to one set of packs, answered under one set-up."""

    code = models.CharField(max_length=20, unique=True)
    project = models.ForeignKey(Project, on_delete=models.PROTECT, related_name="studies")
    title = models.TextField()
    purpose = models.TextField()
    state = models.CharField(max_length=20, default="draft")
    predecessor = models.OneToOneField(
        "self", null=True, blank=True, on_delete=models.PROTECT, related_name="successor", editable=False
    )
    amendment_reason = models.TextField(blank=True)
    rationale = models.TextField(help_text="Why this many packs and specimens answer the question.")
    coverage = models.DecimalField(max_digits=6, decimal_places=5, help_text="Share of seals, such as 0.95.")
    confidence = models.DecimalField(max_digits=6, decimal_places=5)
    bound_rule = models.CharField(max_length=20, default=NORMAL, help_text="What the tolerance bounds rest on.")
    decision_rule = models.CharField(max_length=30)
    decision_chosen_by = models.TextField(help_text="Who chose the rule.")
    agreement = models.CharField(
        max_length=6, choices=list(AGREEMENTS.items()), default=CLIENT, help_text="Who agrees to the protocol."
    )
    no_agreement_reason = models.TextField(blank=True, help_text="Why nobody else is asked.")
    budget = models.ForeignKey(
        "UncertaintyBudget",
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="studies",
        help_text="The uncertainty budget that was in force when the set-up was locked.",
    )
    created_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    created_at = models.DateTimeField()
    locked_by = models.ForeignKey(User, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    locked_at = models.DateTimeField(null=True, blank=True)
    mark = models.CharField(max_length=20, blank=True, help_text="Fingerprint of the locked set-up.")
    fewer_reason = models.TextField(blank=True, help_text="Why fewer specimens were tested than planned.")

    class Meta:
        ordering = ["-code"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(locked_at__isnull=True, locked_by__isnull=True, mark="")
                | models.Q(locked_at__isnull=False, locked_by__isnull=False) & ~models.Q(mark=""),
                name="locked-by-at-and-mark-together",
            ),
            models.CheckConstraint(
                condition=models.Q(agreement=CLIENT) | ~models.Q(no_agreement_reason=""),
                name="nobody-asked-says-why",
            ),
        ]

    def __str__(self):
        return f"{self.code} {self.title}"


class Setup(Table):
    """The parameters that may not change once the study is locked. SI where derived, as stated beside it."""

    study = models.OneToOneField(Study, on_delete=models.PROTECT, related_name="setup")
    method_version = models.ForeignKey(MethodVersion, on_delete=models.PROTECT, related_name="+")
    technique = models.CharField(max_length=1, choices=TECHNIQUES)
    rate = models.DecimalField(max_digits=9, decimal_places=3)
    rate_unit = models.CharField(max_length=10, choices=[("in/min", "in/min"), ("mm/min", "mm/min")])
    width_mm = models.DecimalField(max_digits=7, decimal_places=3)
    width_measured = models.BooleanField(help_text="Each specimen's width is measured, not nominal.")
    grip_separation_mm = models.DecimalField(max_digits=7, decimal_places=2)
    seal_width_mm = models.DecimalField(max_digits=6, decimal_places=2)
    fixed_web = models.TextField(help_text="Which web is in the fixed grip or on the plate.")
    moving_web = models.TextField(help_text="Which web is in the moving grip.")
    pulled_from = models.CharField(
        max_length=10, choices=[("inner", "the inner edge of the seal"), ("outer", "the outer edge")]
    )
    machine_direction = models.CharField(
        max_length=10, choices=[("along", "along the pull"), ("across", "across the pull")]
    )
    sampling_hz = models.DecimalField(max_digits=8, decimal_places=2)
    filter = models.TextField(help_text="Filter of the force signal, or none.")
    threshold_fraction = models.FloatField()
    span_fraction = models.FloatField()
    conditioning_hours = models.FloatField(help_text="Zero only with a reason.")
    no_conditioning_reason = models.TextField(blank=True)
    unit = models.CharField(max_length=12, help_text="Unit of strength in which results are shown.")
    decimals = models.PositiveSmallIntegerField(help_text="Decimals to which a strength is recorded.")
    expected_weak_n = models.FloatField(help_text="Weakest force expected, in newtons.")
    expected_strong_n = models.FloatField(help_text="Strongest force expected, in newtons.")

    def __str__(self):
        return f"set-up of {self.study_id}"


class PlanGroup(Table):
    """One cell of the plan: lot x arm x time point x seal position, with its planned packs and specimens."""

    study = models.ForeignKey(Study, on_delete=models.PROTECT, related_name="groups")
    number = models.PositiveSmallIntegerField()
    lot = models.TextField(help_text="The client's lot.")
    arm = models.TextField(help_text="As made, sterilised, aged, shipped ...")
    time_point = models.TextField(blank=True)
    position = models.TextField(help_text="Where on the pack the strip is cut.")
    packs = models.PositiveSmallIntegerField()
    specimens_per_pack = models.PositiveSmallIntegerField()

    class Meta:
        ordering = ["number"]
        constraints = [
            models.UniqueConstraint(fields=["study", "number"], name="group-number-once"),
            models.UniqueConstraint(fields=["study", "lot", "arm", "time_point", "position"], name="group-once"),
        ]

    def __str__(self):
        return ", ".join(part for part in (self.lot, self.arm, self.time_point, self.position) if part)

    @property
    def planned(self) -> int:
        return self.packs * self.specimens_per_pack


class Limit(Table):
    """A number the results are held against, with where it comes from."""

    study = models.ForeignKey(Study, on_delete=models.PROTECT, related_name="limits")
    kind = models.CharField(
        max_length=12,
        choices=[("requirement", "requirement"), ("process", "process limit"), ("alert", "alert limit")],
    )
    side = models.CharField(max_length=5, choices=[("lower", "at least"), ("upper", "at most")])
    value = models.DecimalField(max_digits=12, decimal_places=6)
    unit = models.CharField(max_length=12)
    origin = models.CharField(
        max_length=10,
        choices=[
            ("derived", "derived from a window study here"),
            ("drawing", "client's drawing or specification"),
            ("standard", "standard"),
            ("unknown", "unknown"),
        ],
    )
    origin_words = models.TextField(blank=True, help_text="Drawing number, clause, study ...")
    derived = models.ForeignKey("DerivedLimit", null=True, blank=True, on_delete=models.PROTECT, related_name="used_as")

    class Meta:
        ordering = [
            models.Case(models.When(kind="requirement", then=0), models.When(kind="process", then=1), default=2),
            "side",
        ]
        constraints = [
            models.UniqueConstraint(fields=["study", "kind", "side"], name="limit-once"),
            models.CheckConstraint(
                condition=models.Q(origin="unknown") | ~models.Q(origin_words=""),
                name="origin-says-which",
            ),
            models.CheckConstraint(
                condition=models.Q(origin="derived", derived__isnull=False)
                | ~models.Q(origin="derived") & models.Q(derived__isnull=True),
                name="derived-names-its-version",
            ),
        ]

    def __str__(self):
        return self.in_words

    @property
    def in_words(self) -> str:
        """The limit as it reads in a heading, such as: process limit at least 1.2 lbf/in."""
        return f"{self.get_kind_display()} {self.get_side_display()} {self.value.normalize():f} {self.unit}"
