"""The study's page: the plan's matrix first, then numbers and plots, then set-up, samples, runs and what comes next."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from labrecords import web
from labrecords.queries import (
    access,
    corrections,
    lab,
    nonconforming,
    numbers,
    reports,
    setups,
    studies,
    traces,
    validation_plans,
    values,
)
from labrecords.rules import study_states
from labrecords.web import needs

from . import looks, photos

ACTS = (
    "plan a study",
    "lock a set-up",
    "receive samples",
    "open a run",
    "finish testing",
    "review a study",
    "release a report",
    "report nonconforming work",
    "amend a report",
    "take a report's records",
    "withdraw a report",
    "give a link to a report",
    "read the trail",
)


@needs("see the laboratory")
def study(request: HttpRequest, code: str) -> HttpResponse:
    """Everything about one study."""
    from labrecords.actions.studies import lock_answers
    from labrecords.reports import protocol, sentences

    found = access.study(request.user, code)
    groups = numbers.study_numbers(found)
    draft = found.state == study_states.DRAFT
    context = {
        "study": found,
        "state_kind": studies.STATE_KINDS[found.state],
        "groups": groups,
        "totals": _totals(groups),
        "rows": [_row(found, group) for group in groups],
        "sides": {limit.side for limit in found.limits.all()},
        "setup": [{"label": label, "value": value} for label, value in setups.described(found.setup)],
        "limits": [_limit(limit, sentences) for limit in found.limits.select_related("derived")],
        "window": studies.is_window(found),
        "validation": validation_plans.of_study(found),
        "to_draw": validation_plans.to_draw(found),
        "decision": sentences.decision_words(found),
        "protocol": protocol.standing_words(found),
        "figures": _figures(request, found, groups),
        "missing": numbers.missing(found),
        "lots": list(studies.lots(found)),
        "missing_lots": studies.missing_lots(found),
        "runs": list(found.runs.select_related("person", "tester", "cell").order_by("number")),
        "differences": setups.earlier_differences(found),
        "holding": nonconforming.holding(found),
        "against": web.forewarnings(lock_answers(found)) if draft else [],
        "waiting": reports.open_decisions(found),
        "deviations": reports.deviations(found),
        "report": reports.released(found),
        "review": reports.accepted_review(found),
        "reviews": list(found.reviews.select_related("by")),
        "refusal_count": reports.refusals(found).count(),
        "may": {
            act.replace(" ", "_").replace("-", "_").replace("'", ""): access.may(request.user, act) for act in ACTS
        },
        "crumbs": [{"label": "Studies", "url": web.reverse("studies")}, {"label": found.code}],
    }
    return render(request, "studies/study.html", context)


def _totals(groups) -> dict:
    return {
        "planned": sum(group.group.planned for group in groups),
        "tested": sum(group.tested for group in groups),
        "void": sum(group.void for group in groups),
        "marked": sum(group.marked for group in groups),
        "below": sum(group.below_limit for group in groups),
        "above": sum(group.above_limit for group in groups),
    }


def _row(study, group) -> dict:
    """One row of the matrix: counts, then the numbers as the report prints them, with less beside them."""
    from labrecords.reports import digits
    from labrecords.reports.printed import group_words, lower_words, upper_words

    decimals, bound, upper = study.setup.decimals, group.bound, group.upper_bound
    ends = group.summary.mean_interval if group.summary and group.independent else ()
    words = group_words(study, group)
    return words | {
        "number": group.group.number,
        "verdicts": group.verdicts,
        "interval": " to ".join(digits.mean(end, decimals) for end in ends) or "not stated",
        "minimum": "below range" if group.below else words["minimum"],
        "maximum": "above range" if group.above else words["maximum"],
        "bound": "none" if bound.value is None else lower_words(group, decimals),
        "upper_bound": "none" if upper is None or upper.value is None else upper_words(group, decimals),
        "note": " ".join([*_bounds_said(group), *group.notes]),
    }


def _bounds_said(group) -> list[str]:
    if group.upper_bound is None:
        return [f"Tolerance bound: {group.bound.words}."]
    return [f"Lower tolerance bound: {group.bound.words}.", f"Upper tolerance bound: {group.upper_bound.words}."]


def _limit(limit, sentences) -> dict:
    return {
        "name": f"{limit.get_kind_display().capitalize()}",
        "text": sentences.limit_words(limit),
        "origin": "unknown" if limit.origin == "unknown" else limit.get_origin_display(),
        "source": limit.origin_words,
        "url": web.reverse("derived-limit", args=[limit.derived.code, limit.derived.version]) if limit.derived else "",
    }


def _figures(request: HttpRequest, study, groups) -> list[dict]:
    from labrecords.reports import figures

    chosen = _chosen_group(request, groups)
    drawn = [figures.value_figure(study, groups)]
    if chosen is not None:
        curves = list(traces.curves(study, group=chosen.group))
        wanted = request.GET.get("specimen", "")
        shown = wanted if any(curve.label == wanted for curve in curves) else ""
        drawn.append(figures.trace_figure(curves, chosen=shown, group=str(chosen.group)))
        drawn.append(figures.probability_figure(study, chosen))
    return [web.figure_context(figure) for figure in drawn if figure is not None]


def _chosen_group(request: HttpRequest, groups):
    with_results = [group for group in groups if group.tested]
    wanted = request.GET.get("group", "")
    return next((group for group in with_results if str(group.group.number) == wanted), None) or (
        with_results[0] if with_results else None
    )


@needs("see the laboratory")
def specimen(request: HttpRequest, label: str) -> HttpResponse:
    """One specimen: where it came from, its result in full, its trace, and what was refused."""
    from labrecords.reports import figures
    from labrecords.reports.printed import value_words

    found = studies.specimen(label)
    result = (
        found.results.select_related("run__tester", "run__cell", "tested_by", "entered_by")
        .order_by("-revision")
        .first()
    )
    curves = (
        [curve for curve in traces.curves(found.study, group=found.group, undecided=True) if curve.label == label]
        if result
        else []
    )
    withheld = result is not None and values.withheld(result, reader=request.user)
    edges = [value for _, value in values.limits(found.study)]
    figure = figures.trace_figure(curves, chosen=label) if curves and not withheld else None
    look = looks.section(request, curves[0]) if figure else None
    context = {
        "specimen": found,
        "study": found.study,
        "result": result,
        "withheld": withheld,
        "value": value_words(result, found.study.setup.decimals, edges) if result else "",
        "modes": _mode_names(found.study, result),
        "marks": [web.wording.WORDS[mark].headline for mark in result.marks] if result else [],
        "figure": web.figure_context(figure) if figure else None,
        "look": look,
        "photos": photos.section(request, found),
        "versions": [] if withheld else _versions(found, edges),
        "waiting": list(corrections.waiting().filter(result__specimen=found)),
        "may_read_trail": access.may(request.user, "read the trail"),
        "may_correct": result is not None and _may_correct(request, found),
        "refusals": list(found.refusals.select_related("by")),
        "replacement": getattr(found, "replacement", None),
        "may_void": access.may(request.user, "void a specimen") and not hasattr(found, "void"),
        "may_replace": access.may(request.user, "receive samples") and hasattr(found, "void"),
        "zone": lab.zone(),
        "crumbs": web.study_crumbs(found.study.code, {"label": label}),
    }
    wrong = look is not None and bool(look["form"].errors)
    return render(request, "studies/specimen.html", context, status=422 if wrong else 200)


def _may_correct(request: HttpRequest, specimen) -> bool:
    allowed = access.may(request.user, "correct a result") and not hasattr(specimen, "void")
    return allowed and not study_states.check_act(specimen.study.state, "correct a result")


def _versions(specimen, edges) -> list[dict]:
    """Every version of a result, each with the correction that made it."""
    from labrecords.reports.printed import value_words

    decimals = specimen.study.setup.decimals
    return [
        {
            "result": result,
            "value": value_words(result, decimals, edges),
            "correction": result.correction,
            "decision": getattr(result.correction, "decision", None) if result.correction else None,
        }
        for result in corrections.versions(specimen)
    ]


def _mode_names(study, result) -> list[str]:
    names = {mode["key"]: mode["name"] for mode in study.setup.method_version.modes}
    return [f"{key} ({names.get(key, 'not in this method')})" for key in result.modes] if result else []
