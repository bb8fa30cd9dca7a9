"""Process limits that came of window studies: their versions, which is in force, and where each is used."""

from django.db.models import Exists, OuterRef, QuerySet

from labrecords.models import DerivedLimit, Limit, Result, Study

from .access import NotFound


def every() -> QuerySet[DerivedLimit]:
    """All versions of all derived limits, newest first, and whether a later version has been approved."""
    later = DerivedLimit.objects.filter(code=OuterRef("code"), version__gt=OuterRef("version"))
    return DerivedLimit.objects.select_related(
        "study__project__client", "study__setup", "by", "decision__by", "supersedes"
    ).annotate(is_superseded=Exists(later.filter(decision__approved=True)))


def one(code: str, version: int) -> DerivedLimit:
    """One version of one limit."""
    found = every().prefetch_related("used_as__study").filter(code=code, version=version).first()
    if found is None:
        raise NotFound(f"{code} version {version}")
    return found


def of_study(study: Study) -> list[DerivedLimit]:
    """What was proposed from one window study."""
    return list(every().filter(study=study))


def in_force(limit: DerivedLimit) -> bool:
    """Whether a version is approved and no later one has been approved."""
    return approved(limit) and not approved_later(limit)


def approved(limit: DerivedLimit) -> bool:
    """Whether a second person approved this version."""
    return hasattr(limit, "decision") and limit.decision.approved


def approved_later(limit: DerivedLimit) -> bool:
    """Whether a later version of the same limit has been approved."""
    return DerivedLimit.objects.filter(code=limit.code, version__gt=limit.version, decision__approved=True).exists()


def usable() -> list[DerivedLimit]:
    """The versions in force, as a plan offers them."""
    latest: dict[str, DerivedLimit] = {}
    for limit in every().filter(decision__approved=True).order_by("code", "version"):
        latest[limit.code] = limit
    return list(latest.values())


def as_offered(limit: DerivedLimit) -> str:
    """A limit as a list offers it."""
    return f"{limit}: {limit.get_side_display()} {limit.value.normalize():f} {limit.unit}, from {limit.study.code}"


def words(limit: DerivedLimit) -> str:
    """How a derived limit stands, in a word or two."""
    if not hasattr(limit, "decision"):
        return "waits for approval"
    if not limit.decision.approved:
        return "not approved"
    over = limit.is_superseded if hasattr(limit, "is_superseded") else approved_later(limit)
    return "superseded" if over else "in force"


def latest(code: str) -> DerivedLimit | None:
    """The last version of a limit, whatever became of it."""
    return every().filter(code=code).order_by("-version").first()


def of_unknown_origin() -> QuerySet[Limit]:
    """Limits in use whose origin nobody knows, with their studies."""
    found = Limit.objects.filter(origin="unknown").exclude(study__state="withdrawn")
    return found.select_related("study__project__client").order_by("-study__code")


def unknown_of(study: Study) -> list[Limit]:
    """Limits of one study whose origin nobody knows."""
    return list(Limit.objects.filter(study=study, origin="unknown"))


def strips(limit: DerivedLimit) -> list[Result]:
    """The results on which a limit rests, by specimen."""
    found = Result.objects.filter(pk__in=limit.content["results"]).select_related("specimen__group", "specimen__pack")
    return list(found.order_by("specimen__label"))
