"""Studies for the pages: lists, choices, and what is about to happen in each."""

from collections.abc import Iterable

from django.db.models import Count, Q, QuerySet

from labrecords.models import (
    Deviation,
    Equipment,
    Limit,
    Lot,
    MethodVersion,
    Pack,
    PlanGroup,
    Project,
    Refusal,
    Run,
    SealingSetting,
    Setup,
    Specimen,
    Study,
    User,
)
from labrecords.rules.study_states import IN_REVIEW, LOCKED, REVIEWED, TESTING

from . import setups, validation_plans, windows
from .access import NotFound

STATE_KINDS = {
    "draft": "idle",
    "locked": "wait",
    "testing": "wait",
    "in review": "due",
    "reviewed": "due",
    "released": "ok",
    "withdrawn": "idle",
}


STUDY_FIELDS = (
    "title",
    "purpose",
    "rationale",
    "bound_rule",
    "decision_rule",
    "decision_chosen_by",
    "agreement",
    "no_agreement_reason",
)
SETTING_FIELDS = (
    "lot",
    "kind",
    "label",
    "temperature",
    "temperature_unit",
    "dwell_s",
    "pressure",
    "pressure_unit",
)


def listed(*, state: str = "") -> QuerySet[Study]:
    """Studies, newest first, with how many specimens each has and how many are done."""
    found = Study.objects.select_related("project__client", "setup").annotate(
        specimen_count=Count("specimens", distinct=True),
        result_count=Count("specimens__results", distinct=True),
    )
    found = found.order_by("-code")  # an annotated query forgets the table's own order
    return found.filter(state=state) if state else found


def every() -> QuerySet[Study]:
    """Every study, newest first."""
    return Study.objects.all()


def waiting_for_review() -> QuerySet[Study]:
    """Studies before a reviewer or a signatory, oldest first."""
    return listed().filter(state__in=[IN_REVIEW, REVIEWED]).order_by("code")


def at_the_bench() -> QuerySet[Study]:
    """Studies in which a run may be opened."""
    return listed().filter(state__in=[LOCKED, TESTING])


def with_strips_left() -> QuerySet[Study]:
    """Studies in which a run may be opened, each with how many of its strips have no result and are not void."""
    missing = Q(specimens__isnull=False, specimens__results__isnull=True, specimens__void__isnull=True)
    found = Study.objects.filter(state__in=[LOCKED, TESTING])
    return found.annotate(left=Count("specimens", filter=missing, distinct=True))


def open_runs() -> QuerySet[Run]:
    """Runs that are not closed."""
    return (
        Run.objects.filter(closed_at__isnull=True)
        .select_related("study", "person", "tester", "cell")
        .annotate(result_count=Count("results"))
        .order_by("-opened_at")
    )


def run(run_id) -> Run:
    """A run with all that its page shows."""
    found = (
        Run.objects.select_related("study__setup__method_version", "study__project", "person", "tester", "cell")
        .filter(pk=run_id)
        .first()
    )
    if found is None:
        raise NotFound(str(run_id))
    return found


def waiting_specimens(study: Study) -> QuerySet[Specimen]:
    """Specimens of a study that have no result and are not void, in the order of their labels."""
    return Specimen.objects.filter(study=study, results__isnull=True, void__isnull=True).select_related("group", "pack")


def run_results(run: Run):
    """The results of a run, newest first."""
    return (
        run.results.filter(superseded_by__isnull=True)
        .select_related("specimen__group", "specimen__void")
        .prefetch_related("deviations__decision")
        .order_by("-at", "-pk")
    )


def specimen(label: str) -> Specimen:
    """A specimen by its label."""
    found = (
        Specimen.objects.select_related(
            "study__setup__method_version", "study__project__client", "group", "pack__lot", "void__by", "replaces"
        )
        .filter(label=label)
        .first()
    )
    if found is None:
        raise NotFound(label)
    return found


def lot(label: str) -> Lot:
    """A lot by its label."""
    found = Lot.objects.select_related("study").filter(label=label).first()
    if found is None:
        raise NotFound(label)
    return found


def lots(study: Study):
    """The lots of a study, with what is known of each."""
    return (
        study.lots.annotate(
            pack_count=Count("packs", distinct=True),
            specimen_count=Count("packs__specimens", distinct=True),
        )
        .prefetch_related("conditionings", "custody")
        .order_by("label")
    )


def missing_lots(study: Study) -> list[str]:
    """Lots of the plan that have not been received."""
    planned = study.groups.values_list("lot", flat=True)
    received = set(study.lots.values_list("name", flat=True))
    return sorted(set(planned) - received)


def packs_for(specimen: Specimen) -> QuerySet[Pack]:
    """Packs from which a replacement may be cut: of the same lot, arm and time point.

    Where the plan takes one strip a pack, only packs of which no other strip of the group counts: two strips of one
    pack would not be independent.
    """
    group = specimen.group
    treated = Specimen.objects.filter(group__arm=group.arm, group__time_point=group.time_point)
    found = specimen.pack.lot.packs.filter(specimens__in=treated).distinct()
    if group.specimens_per_pack > 1:
        return found
    return found.exclude(specimens__in=Specimen.objects.filter(group=group, void__isnull=True))


def pack(pack_id) -> Pack:
    """A pack by its identifier."""
    return Pack.objects.get(pk=pack_id)


def deviation(deviation_id) -> Deviation:
    """A deviation with all but the value of its result."""
    found = (
        Deviation.objects.select_related("result__specimen__study", "result__specimen__group", "decision")
        .filter(pk=deviation_id)
        .first()
    )
    if found is None:
        raise NotFound(str(deviation_id))
    return found


def open_deviations() -> QuerySet[Deviation]:
    """Deviations that wait for a decision, oldest first."""
    return (
        Deviation.objects.filter(decision__isnull=True)
        .select_related("result__specimen__study__project__client", "result__tested_by")
        .order_by("at", "pk")
    )


def refusals(*, code: str = "", study: str = "") -> QuerySet[Refusal]:
    """Refusals, newest first; of one code, of one study, or all."""
    found = Refusal.objects.select_related("study", "specimen", "by")
    if code:
        found = found.filter(codes__contains=[code])
    return found.filter(study__code=study) if study else found


def refusal_count() -> int:
    """How many refusals are on record."""
    return Refusal.objects.count()


def refusal_facets(most: int) -> list[tuple[list[str], str | None]]:
    """The codes and the study's code of the newest refusals."""
    return list(Refusal.objects.values_list("codes", "study__code")[:most])


def projects() -> QuerySet[Project]:
    """Projects with their clients."""
    return Project.objects.select_related("client").order_by("client__name", "code")


def project(project_id) -> Project:
    """A project by its identifier."""
    return projects().get(pk=project_id)


def method_versions() -> QuerySet[MethodVersion]:
    """Method versions, the newest of each method first."""
    return MethodVersion.objects.select_related("method")


def method_version(version_id) -> MethodVersion:
    """A method version by its identifier."""
    return method_versions().get(pk=version_id)


def equipment_of(kind: str) -> QuerySet[Equipment]:
    """Testers or load cells."""
    return Equipment.objects.filter(kind=kind)


def equipment(label: str) -> Equipment:
    """An item by its label."""
    found = Equipment.objects.filter(label=label).first()
    if found is None:
        raise NotFound(label)
    return found


def calibrations(item: Equipment):
    """Every calibration of an item, newest first."""
    return item.calibrations.select_related("by", "review__by", "superseded_by")


def calibration(calibration_id):
    """A calibration by its identifier."""
    from labrecords.models import Calibration

    found = (
        Calibration.objects.select_related("equipment", "by", "review__by", "supersedes", "superseded_by", "document")
        .defer("document__content")
        .filter(pk=calibration_id)
        .first()
    )
    if found is None:
        raise NotFound(str(calibration_id))
    return found


def people() -> QuerySet[User]:
    """Everybody, with their roles and authorisations."""
    return User.objects.prefetch_related(
        "groups", "authorisations__method_version__method", "authorisations__withdrawal"
    ).select_related("client")


def as_initial(study: Study) -> dict:
    """A plan as its forms show it."""
    setup = study.setup
    return {
        "study": {
            "project": study.project_id,
            **{name: getattr(study, name) for name in STUDY_FIELDS},
            "coverage": study.coverage.normalize(),
            "confidence": study.confidence.normalize(),
        },
        "setup": {name: _shown(getattr(setup, name)) for name in _setup_fields(setup)}
        | {"method_version": setup.method_version_id},
        "groups": [
            _row(group, ("lot", "arm", "time_point", "position", "packs", "specimens_per_pack"))
            for group in study.groups.all()
        ],
        "limits": [
            _row(limit, ("kind", "side", "value", "unit", "origin", "origin_words")) | {"derived": limit.derived_id}
            for limit in study.limits.all()
        ],
        "window": {"sealer": study.window.sealer, "openings": study.window.openings} if is_window(study) else {},
        "settings": [_row(setting, SETTING_FIELDS) for setting in windows.settings(study)],
        "validation": validation_plans.as_initial(study),
    }


def is_window(study: Study) -> bool:
    """Whether a study looks for a process window."""
    return hasattr(study, "window")


def _setup_fields(setup: Setup) -> Iterable[str]:
    left_out = {"id", "study", "method_version", "threshold_fraction", "span_fraction"}
    return (field.name for field in setup._meta.fields if field.name not in left_out)


def _shown(value):
    from decimal import Decimal

    return setups.plain(value) if isinstance(value, Decimal | float) else value


def _row(row: PlanGroup | Limit | SealingSetting, names: Iterable[str]) -> dict:
    return {name: _shown(getattr(row, name)) for name in names}
