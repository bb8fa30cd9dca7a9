"""Documents that people send: what they are, told by their first bytes and not by their names."""

import hashlib

MOST_BYTES = 20_000_000
BEGINNINGS = {
    b"%PDF-": ("application/pdf", (".pdf",)),
    b"\x89PNG\r\n\x1a\n": ("image/png", (".png",)),
    b"\xff\xd8\xff": ("image/jpeg", (".jpg", ".jpeg")),
}


def media_type(name: str, content: bytes) -> str | None:
    """The media type of a document; None where its bytes are of no kind that is kept, or not of its name's kind.

    >>> media_type("certificate.pdf", b"%PDF-1.7"), media_type("certificate.pdf", b"MZ")
    ('application/pdf', None)
    """
    for beginning, (kind, endings) in BEGINNINGS.items():
        if content.startswith(beginning) and name.lower().endswith(endings):
            return kind
    return None


def safe_name(name: str) -> str:
    """A name to save a document under, whatever came as its name: no folder, nothing unseen, not too long.

    >>> safe_name("../../certificate.pdf"), safe_name("..")
    ('certificate.pdf', 'document')
    """
    last = name.replace("\\", "/").rpartition("/")[2]
    shown = "".join(sign for sign in last if sign.isprintable()).strip(". ")
    stem, dot, ending = shown.rpartition(".")
    return (f"{stem[:100]}{dot}{ending[:10]}" if dot else shown[:100]) or "document"


def sha256(content: bytes) -> str:
    """The SHA-256 of some bytes, as 64 hexadecimal digits."""
    return hashlib.sha256(content).hexdigest()
