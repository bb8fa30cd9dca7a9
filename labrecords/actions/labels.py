"""Labels: printed on sheets, and counted."""

from collections.abc import Sequence
from datetime import datetime

from django.db import transaction

from labrecords.models import LabelPrint, Lot, User
from labrecords.queries import access
from labrecords.queries import labels as found
from labrecords.rules import label_sheet

from . import trail

EQUIPMENT, BADGES = "equipment", "badges"
PRINTS = {EQUIPMENT: "keep equipment", BADGES: "keep people"}


@transaction.atomic(durable=True)
def print_labels(
    *,
    codes: Sequence[str],
    sheet: str,
    margins: dict[str, float | None],
    first: int,
    by: User,
    at: datetime,
    lot: Lot | None = None,
    of: str = EQUIPMENT,
) -> LabelPrint:
    """That these labels are printed, from label `first` of a sheet on: of a lot, or else `of` equipment or badges.

    Raises rules.label_sheet.SheetProblem for a sheet on which they cannot be, and nothing is kept.
    """
    access.demand(by, "receive samples" if lot else PRINTS[of])
    if not codes:
        raise label_sheet.SheetProblem("There is no label to print: choose what is to be printed.")
    if len(codes) > label_sheet.MOST:
        raise label_sheet.SheetProblem(f"At most {label_sheet.MOST} labels are printed at once, not {len(codes)}.")
    label_sheet.start(label_sheet.sheet(sheet, margins), first)
    before = found.times_printed(codes)
    subject = f"lot {lot.label}" if lot else of
    laid = {"sheet": sheet, "margins": margins, "first": first}
    kept = LabelPrint.objects.create(subject=subject, codes=list(codes), sheet=laid, by=by, at=at)
    again = {code: before[code] for code in codes if before[code]}
    after = {"print": kept.pk, "codes": list(codes), "sheet": sheet, "printed before": again}
    trail.write("labels.printed", subject=subject, by=by, at=at, study=lot.study if lot else None, after=after)
    return kept
