"""Labels: what is to be printed, the print as it was made, and its PDF."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.http import content_disposition_header

from labrecords.actions import labels as actions
from labrecords.forms.labels import NEW, PrintForm
from labrecords.queries import labels, studies
from labrecords.rules import label_sheet
from labrecords.rules.labels import find
from labrecords.web import needs, now


@needs("receive samples")
def of_lot(request: HttpRequest, label: str) -> HttpResponse:
    """Labels of a lot's packs and specimens."""
    lot = studies.lot(label)
    form = _form(request, [(labels.SPECIMENS, "Specimens"), (labels.PACKS, "Packs")])
    every = labels.of_lot(lot, (labels.PACKS, labels.SPECIMENS))

    def chosen(what):
        return labels.of_lot(lot, what)

    crumbs = [
        {"label": lot.study.code, "url": reverse("study", args=[lot.study.code])},
        {"label": f"Lot {lot.name}", "url": reverse("lot", args=[lot.label])},
    ]
    return _page(request, form, every, chosen, heading=f"Labels of lot {lot.name}", crumbs=crumbs, lot=lot)


@needs("keep equipment")
def of_equipment(request: HttpRequest) -> HttpResponse:
    """Labels of equipment: of every item, or of those named in the address."""
    form = _form(request, None)
    every = labels.of_equipment()
    crumbs = [{"label": "Equipment", "url": reverse("equipment")}]
    return _page(request, form, every, lambda _: every, heading="Labels of equipment", crumbs=crumbs)


@needs("keep people")
def of_badges(request: HttpRequest) -> HttpResponse:
    """Badges of people who work at the bench."""
    form = _form(request, None)
    every = labels.of_badges()
    crumbs = [{"label": "People", "url": reverse("people")}]
    return _page(
        request, form, every, lambda _: every, heading="Badges for the bench", crumbs=crumbs, of=actions.BADGES
    )


def _form(request: HttpRequest, kinds) -> PrintForm:
    named = [code.text for code in find(request.GET.get("only", "")[:500])]
    initial = {"what": [kind for kind, _ in kinds or ()], "only": " ".join(named)}
    form = PrintForm(request.POST or None, initial=initial)
    if kinds is None:
        del form.fields["what"]
    else:
        form.fields["what"].choices = kinds
    return form


def _page(request, form: PrintForm, every: list[str], chosen, *, heading, crumbs, **what) -> HttpResponse:
    times = labels.times_printed(every)
    if request.method == "POST" and form.is_valid():
        codes = _chosen(form, every, chosen, times)
        if form.is_valid():
            kept = _print(request, form, codes, **what)
            if kept is not None:
                return redirect("label-print", kept.pk)
    context = {
        "form": form,
        "heading": heading,
        "rows": [(code, times[code]) for code in every],
        "new": sum(not times[code] for code in every),
        "crumbs": [*crumbs, {"label": "Labels"}],
    }
    return render(request, "labels/print.html", context, status=422 if form.errors else 200)


def _chosen(form: PrintForm, every: list[str], chosen, times) -> list[str]:
    """The codes to print; what is asked for and is not among them is said beside its field."""
    given = form.cleaned_data
    if given["only"]:
        named = [code.text for code in find(given["only"])]
        strange = [code for code in named if code not in every]
        if strange or not named:
            words = f"Not among these labels: {', '.join(strange)}." if strange else "There is no label code in this."
            form.add_error("only", words)
        return named
    codes = chosen(given.get("what", ()))
    return [code for code in codes if given["which"] != NEW or not times[code]]


def _print(request: HttpRequest, form: PrintForm, codes: list[str], **what):
    given = form.cleaned_data
    try:
        return actions.print_labels(
            codes=codes,
            sheet=given["sheet"],
            margins=form.margins(),
            first=given["first"],
            by=request.user,
            at=now(),
            **what,
        )
    except label_sheet.SheetProblem as problem:
        form.add_error(None, str(problem))
        return None


@needs("see the laboratory")
def one_print(request: HttpRequest, print_id) -> HttpResponse:
    """Labels as they were printed, and how often each was."""
    found = labels.one_print(print_id)
    times = labels.times_printed(found.codes)
    context = {
        "print": found,
        "sheet": label_sheet.SHEETS[found.sheet["sheet"]].words,
        "rows": [(code, times[code]) for code in found.codes],
        "again": sum(times[code] > 1 for code in found.codes),
        "crumbs": [{"label": f"Labels of {found.subject}"}],
    }
    return render(request, "labels/printed.html", context)


@needs("see the laboratory")
def pdf(request: HttpRequest, print_id) -> HttpResponse:  # noqa: ARG001 - a view is given it
    """The sheets of a print."""
    from labrecords.reports import label_sheets

    found = labels.one_print(print_id)
    sheet = label_sheet.sheet(found.sheet["sheet"], found.sheet["margins"])
    content = label_sheets.pdf(
        labels.faces(found.codes),
        sheet,
        left_empty=label_sheet.start(sheet, found.sheet["first"]),
        title=f"Labels of {found.subject}",
    )
    response = HttpResponse(content, content_type="application/pdf")
    response["Content-Disposition"] = content_disposition_header(True, f"labels-{found.subject}.pdf".replace(" ", "-"))
    return response
