"""Labels: what stands on each, and how often it was printed."""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from labrecords.models import Badge, Equipment, LabelPrint, Lot, Pack, Specimen
from labrecords.rules.labels import parse

from . import badges
from .access import NotFound

PACKS, SPECIMENS = "packs", "specimens"


@dataclass(frozen=True)
class Face:
    """A label's code, what the scanner reads, and the lines beside it."""

    code: str
    encoded: str
    lines: tuple[str, ...]


def of_lot(lot: Lot, what: Iterable[str]) -> list[str]:
    """Codes of a lot's packs and of its specimens that are not void, each pack before its specimens."""
    wanted = set(what)
    rows: list[tuple[int, int, str]] = []
    if PACKS in wanted:
        rows += [(number, 0, label) for number, label in lot.packs.values_list("number", "label")]
    if SPECIMENS in wanted:
        strips = Specimen.objects.filter(pack__lot=lot, void__isnull=True)
        rows += [(number, 1, label) for number, label in strips.values_list("pack__number", "label")]
    return [label for _, _, label in sorted(rows)]


def of_equipment() -> list[str]:
    """Codes of all items of equipment."""
    return list(Equipment.objects.values_list("label", flat=True))


def of_badges() -> list[str]:
    """Codes of all badges that have not ended."""
    return list(badges.open_badges().values_list("label", flat=True))


def times_printed(codes: Sequence[str]) -> Counter[str]:
    """How often each code was printed so far."""
    prints = LabelPrint.objects.filter(codes__overlap=list(codes)).values_list("codes", flat=True)
    wanted = set(codes)
    return Counter(code for printed in prints for code in printed if code in wanted)


def one_print(print_id) -> LabelPrint:
    """Labels that were printed together."""
    found = LabelPrint.objects.select_related("by").filter(pk=print_id).first()
    if found is None:
        raise NotFound(str(print_id))
    return found


def faces(codes: Sequence[str]) -> list[Face]:
    """What stands on the labels with these codes, in their order; a constant number of queries."""
    lines = _strip_lines(codes) | _pack_lines(codes) | _item_lines(codes) | _badge_lines(codes)
    return [Face(code, parse(code).encoded, lines[code]) for code in codes]


def _strip_lines(codes: Sequence[str]) -> dict[str, tuple[str, ...]]:
    found = Specimen.objects.filter(label__in=codes).select_related("pack__lot__study", "group")
    return {strip.label: (*_pack_words(strip.pack), _place(strip)) for strip in found}


def _place(strip: Specimen) -> str:
    group = strip.group
    return ", ".join(part for part in (group.position, group.arm, group.time_point) if part) if group else ""


def _pack_lines(codes: Sequence[str]) -> dict[str, tuple[str, ...]]:
    found = Pack.objects.filter(label__in=codes).select_related("lot__study")
    return {pack.label: _pack_words(pack) for pack in found}


def _pack_words(pack: Pack) -> tuple[str, str]:
    return pack.lot.study.code, f"pack {pack.number}, lot {pack.lot.name}"


def _item_lines(codes: Sequence[str]) -> dict[str, tuple[str, ...]]:
    return {item.label: (item.name, f"no. {item.serial}") for item in Equipment.objects.filter(label__in=codes)}


def _badge_lines(codes: Sequence[str]) -> dict[str, tuple[str, ...]]:
    found = Badge.objects.filter(label__in=codes).select_related("person")
    return {badge.label: (badge.person.name, "badge for the bench") for badge in found}
