"""How alike several technicians measure, in one study."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from labrecords import web
from labrecords.queries import access
from labrecords.queries import precision as queries
from labrecords.web import needs


@needs("see the laboratory")
def precision(request: HttpRequest, code: str) -> HttpResponse:
    """Precision within and between technicians, and who stands out."""
    from labrecords.reports import precision_figures
    from labrecords.reports import precision_words as words

    study = access.study(request.user, code)
    found = queries.read(study)
    seen, modes = words.mode_rows(found.modes)
    context = {
        "study": study,
        "found": found,
        "materials": [words.material_words(study, material) for material in found.materials],
        "crossed": words.gauge_words(study, words.chosen(found.crossed)),
        "interaction": words.interaction_words(found.crossed),
        "handbook": words.handbook_line(words.chosen(found.crossed) or found.nested),
        "nested": words.gauge_words(study, found.nested),
        "figures": [web.figure_context(figure) for figure in precision_figures.figures(study, found)],
        "unmeasured": words.unmeasured_words(found),
        "modes_seen": seen,
        "modes": modes,
        "crumbs": web.study_crumbs(code, {"label": "Precision"}),
    }
    return render(request, "studies/precision.html", context)
