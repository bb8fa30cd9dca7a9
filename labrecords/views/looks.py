"""A trace looked at by another rule, on the page of its specimen: asked in the address, and never kept."""

from django.http import HttpRequest

from labrecords import web
from labrecords.forms.looks import LookForm

NAMES = ("threshold", "span")


def section(request: HttpRequest, curve) -> dict:
    """The form, and where something was asked the figure; what the address leaves out is as locked."""
    locked = {name: _percent(curve.reduction[f"{name}_fraction"]) for name in NAMES}
    asked = any(name in request.GET for name in NAMES)
    form = LookForm({name: request.GET.get(name, locked[name]) for name in NAMES} if asked else None, initial=locked)
    figure = _figure(curve, form) if asked and form.is_valid() else None
    return {"form": form, "locked": locked, "figure": web.figure_context(figure) if figure else None}


def _percent(fraction: float) -> str:
    return f"{100 * fraction:.10g}"


def _figure(curve, form: LookForm):
    from labrecords.reports import looks

    threshold, span = (form.cleaned_data[name] for name in NAMES)
    try:
        tried = looks.reduced_otherwise(curve, threshold_fraction=threshold, span_fraction=span)
    except ValueError:  # each is in range; what the trace leaves between them has no length
        form.add_error("threshold", "It leaves nothing of the trace to analyse. Choose a lower threshold.")
        return None
    return looks.look_figure(curve, tried)
