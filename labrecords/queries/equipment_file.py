"""The file of an item: everything ISO/IEC 17025, 6.4.13 asks to be on record, in words."""

from labrecords.models import Equipment, EquipmentDocument

from .access import NotFound

NOT_STATED = "not stated"


def described(item: Equipment) -> list[dict[str, str]]:
    """Identity, place, what it measures, what it has to meet, and how it is kept."""
    told = [
        ("Kind", item.get_kind_display()),
        ("Maker and type", f"{item.maker} {item.model}".strip()),
        ("Serial number", item.serial),
        ("Firmware", item.firmware),
        ("Where it stands", item.location),
    ]
    if item.kind in Equipment.FORCE:
        told += [("Capacity", _newtons(item.capacity_n)), ("Resolution", _newtons(item.resolution_n))]
    if item.kind in Equipment.STANDARDS:
        told.append(("Force it gives", _newtons(item.nominal_n)))
    told += [
        ("Has to meet", item.acceptance),
        ("Maintenance", item.maintenance),
        ("Calibrated", f"every {item.interval_months} months" if item.interval_months else _no_interval(item)),
    ]
    return [{"label": label, "value": value or NOT_STATED} for label, value in told]


def _newtons(value: float | None) -> str:
    return "" if value is None else f"{value:g} N"


def _no_interval(item: Equipment) -> str:
    return "interval not stated" if item.kind in Equipment.FORCE else "not needed"


def document(document_id) -> EquipmentDocument:
    """A document with its bytes."""
    found = EquipmentDocument.objects.filter(pk=document_id).first()
    if found is None:
        raise NotFound(str(document_id))
    return found
