"""Whether a report that somebody holds in their hand still holds: nothing but its state, issue, day and hash."""

from labrecords.models import Report

FEWEST_DIGITS = 12


def find(number: str, code: str) -> tuple[Report, Report] | None:
    """The issue whose hash begins with the code, and the newest issue of that number; None reads the same for all."""
    code = code.strip().lower()
    if len(code) < FEWEST_DIGITS or not set(code) <= set("0123456789abcdef"):
        return None
    issues = list(
        Report.objects.filter(number=number.strip()).select_related("withdrawal").defer("content").order_by("-issue")
    )
    found = next((report for report in issues if report.content_sha256.startswith(code)), None)
    return (found, issues[0]) if found else None
