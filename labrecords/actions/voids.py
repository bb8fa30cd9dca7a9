"""Voids and replacements: a value stays, does not count, and is printed; a replacement names what it replaces."""

from datetime import datetime

from labrecords.models import Pack, Result, Specimen, Study, User, Void
from labrecords.queries import access, setups, studies, values, verdicts
from labrecords.rules import voids
from labrecords.rules.answers import Answer
from labrecords.rules.study_states import check_act

from . import trail, validations
from .numbering import next_labels
from .refusals import one_act


def void(*, specimen: Specimen, cause: str, words: str, by: User, at: datetime) -> Void:
    """Set a specimen aside, for a cause from the method's list. Its value, if it has one, is kept and printed."""
    access.demand(by, "void a specimen")
    study = specimen.study
    with one_act(
        "void a specimen", by=by, at=at, study=study, specimen=specimen, tried=f"void {specimen.label}"
    ) as stop:
        study = Study.objects.select_for_update().get(pk=study.pk)
        stop(check_act(study.state, "void a specimen"))
        already = Void.objects.filter(specimen=specimen).exists()
        stop(
            voids.check_void(
                cause=cause,
                causes=setups.method_facts(study.setup.method_version).void_causes,
                words=words,
                already=already,
                weighty=not already and _weighty(specimen, study),
                may_void_low=access.may(by, "void a low value"),
            )
        )
        kept = Void.objects.create(specimen=specimen, cause=cause, words=words, by=by, at=at)
        after = {"void": kept.pk, "cause": cause}
        subject = f"specimen {specimen.label}"
        trail.write("specimen.voided", subject=subject, by=by, at=at, study=study, after=after, why=words)
    return kept


def _weighty(specimen: Specimen, study: Study) -> bool:
    result = Result.objects.filter(specimen=specimen).order_by("-revision").first()
    if result is None:
        return False
    if values.waits(result):
        return True  # whether or not it is low: the answer must not tell
    others = values.counting(study).filter(specimen__pack__lot=specimen.pack.lot).exclude(specimen=specimen)
    return voids.is_weighty(
        None if result.censored == "below" else result.strength,
        outside=any(verdicts.outside(result, limit.side, value) for limit, value in values.limits(study)),
        others=others.exclude(censored="below").values_list("strength", flat=True),
    )


def replace(*, specimen: Specimen, pack: Pack, by: User, at: datetime) -> Specimen:
    """A new specimen that names the void one it replaces; the method caps how many a group may have."""
    access.demand(by, "receive samples")
    study = specimen.study
    tried = f"replace {specimen.label}"
    with one_act("replace a specimen", by=by, at=at, study=study, specimen=specimen, tried=tried) as stop:
        study = Study.objects.select_for_update().get(pk=study.pk)
        stop(check_act(study.state, "replace a specimen"))
        if Specimen.objects.filter(replaces=specimen).exists():
            stop([Answer("state-refused", f"{specimen.label} has been replaced.")])
        stop(
            voids.check_replacement(
                replaced=Specimen.objects.filter(group=specimen.group, replaces__isnull=False).count(),
                cap=study.setup.method_version.replacement_cap,
                is_void=Void.objects.filter(specimen=specimen).exists(),
                label=specimen.label,
            )
        )
        if not studies.packs_for(specimen).filter(pk=pack.pk).exists():
            why = f"Pack {pack.number} is of another arm or time point, or another strip of it counts already."
            stop([Answer("not-in-plan", why, {"pack": pack.label})])
        made = Specimen.objects.create(
            study=study,
            group=specimen.group,
            pack=pack,
            label=next_labels("SP", 1)[0],
            replaces=specimen,
            cut_at=at,
            cut_by=by,
        )
        validations.take_place(replaced=specimen, by=made, at=at)
        after = {"replaces": specimen.label, "pack": pack.label}
        trail.write("specimen.replaced", subject=f"specimen {made.label}", by=by, at=at, study=study, after=after)
    return made
