"""The set-up mark: a short fingerprint of a set-up. Two studies compare freely only if their marks agree."""

from collections.abc import Mapping

from .canonical import canonical, sha256

# Letters and digits that are not taken for one another when read aloud or off paper.
ALPHABET = "23456789CFGHJKMPRVWX"


def setup_mark(fields: Mapping[str, str]) -> str:
    """Twelve characters in three groups, from the SHA-256 of the set-up's fields as canonical JSON.

    The same fields give the same mark, in whatever order they come; any changed field gives another.

    >>> setup_mark({"technique": "A", "rate": "11 in/min"}) == setup_mark({"rate": "11 in/min", "technique": "A"})
    True
    >>> len(setup_mark({"technique": "A"}))
    14
    """
    number = int(sha256(canonical(fields)), 16)
    letters = ""
    for _ in range(12):
        number, remainder = divmod(number, len(ALPHABET))
        letters += ALPHABET[remainder]
    return "-".join((letters[:4], letters[4:8], letters[8:]))
