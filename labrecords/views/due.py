"""What stops work and what falls due: the list, the strip, the calendar, and the matrix of people."""

from datetime import UTC

from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from labrecords import web
from labrecords.actions import feeds as actions
from labrecords.files import ical
from labrecords.queries import due, feeds, studies
from labrecords.web import needs, now


@needs("see the laboratory")
def due_list(request: HttpRequest) -> HttpResponse:
    """Everything that stops work or falls due, the list first and the strip after it."""
    rows = due.everything(now())
    wanted = request.GET.get("group", "")
    shown = [row for row in rows if wanted in ("", row.group)]
    figure = strip(rows)
    context = {
        "groups": grouped(shown),
        "wanted": wanted,
        "figure": web.figure_context(figure) if figure else None,
        "feed": feeds.of(request.user),
        "crumbs": [{"label": "Due"}],
    }
    return render(request, "due/due.html", context)


def grouped(rows) -> list[tuple[str, list]]:
    """The parts of the list that hold something, in their order."""
    parts = [(name, [row for row in rows if row.group == name]) for name in due.GROUPS]
    return [(name, part) for name, part in parts if part]


def strip(rows):
    """The strip of due dates; None while nothing is dated."""
    from labrecords.charts.due_strip import DueDot, due_strip

    dots = [
        DueDot(row.what, f"{row.on.day} {row.on:%b %Y}", row.days, row.overdue)
        for row in rows
        if row.on is not None and row.days is not None
    ]
    return due_strip(dots) if dots else None


@needs("see the laboratory")
def matrix(request: HttpRequest) -> HttpResponse:
    """Who is authorised for which technique, until when."""
    versions = list(studies.method_versions())
    chosen = next(
        (one for one in versions if str(one.pk) == request.GET.get("version")), versions[0] if versions else None
    )
    context = {
        "versions": versions,
        "chosen": chosen,
        "rows": due.matrix(now(), chosen) if chosen else [],
        "crumbs": [{"label": "People", "url": reverse("people")}, {"label": "Authorisations"}],
    }
    return render(request, "people/matrix.html", context)


@require_POST
@needs("see the laboratory")
def give_feed(request: HttpRequest) -> HttpResponse:
    """A new private address; the one before ends."""
    secret = actions.give(person=request.user, at=now())
    address = request.build_absolute_uri(reverse("calendar", args=[secret]))
    context = {"address": address, "crumbs": [{"label": "Due", "url": reverse("due")}, {"label": "Calendar"}]}
    return render(request, "due/address.html", context)


@require_POST
@needs("see the laboratory")
def revoke_feed(request: HttpRequest) -> HttpResponse:
    """End the address."""
    actions.revoke(person=request.user, at=now())
    messages.success(request, "The calendar address has ended.")
    return redirect("due")


@login_not_required
@require_safe
def calendar(request: HttpRequest, secret: str) -> HttpResponse:
    """The calendar behind a private address, for a calendar program: items and days, no client's name."""
    feed = feeds.by_secret(secret)
    events = [
        ical.AllDay(
            uid=f"{row.key}@labrecords",
            day=row.on,
            summary=f"{row.what}: {'calibration due' if row.person is None else row.due}",
            url=request.build_absolute_uri(reverse(row.url[0], args=[row.url[1]])),
            sequence=_sequence(row.changed_at),
        )
        for row in feeds.dated(feed.person, now())
    ]
    events += [
        ical.AllDay(f"{one.key}@labrecords", one.on, one.what, "", _sequence(one.changed_at), cancelled=True)
        for one in feeds.gone(now())
    ]
    actions.fetched(feed=feed, at=now())
    content = ical.calendar(events, name="Due in the laboratory", at=now())
    response = HttpResponse(content, content_type="text/calendar; charset=utf-8")
    response["Cache-Control"] = "no-store"
    return response


def _sequence(moment) -> int:
    """Grows whenever the record behind an event is added to: minutes, which a calendar program can count to."""
    return int(moment.astimezone(UTC).timestamp() // 60) if moment else 0
