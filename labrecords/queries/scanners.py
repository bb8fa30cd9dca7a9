"""What the scanners at the testers made of the test label."""

from labrecords.models import Equipment, ScannerCheck

from .access import NotFound

SHOWN = 5


def tester(label: str) -> Equipment:
    """A tester by its label; other equipment has no scanner."""
    found = Equipment.objects.filter(label=label, kind=Equipment.TESTER).first()
    if found is None:
        raise NotFound(label)
    return found


def checks_of(item: Equipment) -> list[ScannerCheck]:
    """The newest checks of the scanner at a tester."""
    return list(ScannerCheck.objects.filter(tester=item).select_related("by")[:SHOWN])
