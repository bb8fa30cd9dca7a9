"""The address at which anybody who holds a report may ask whether it still does, and its drawing as a QR code."""

import io
from urllib.parse import urlencode

import segno

DIGITS = 12  # of the content's hash: enough that nobody finds a report by trying numbers


def code(content_sha256: str) -> str:
    """What is typed beside a report's number.

    >>> code("9f86d081884c7d65")
    '9f86d081884c'
    """
    return content_sha256[:DIGITS]


def address(site: str, number: str, content_sha256: str) -> str:
    """The check page of one issue of a report."""
    return f"{site}/check/?{urlencode({'report': number, 'code': code(content_sha256)})}"


def drawing(text: str) -> bytes:
    """A QR code of a text as SVG, dark on light, with its quiet zone."""
    out = io.BytesIO()
    segno.make(text, error="m", micro=False).save(out, kind="svg", scale=4, dark="#000", light="#fff", nl=False)
    return out.getvalue()
