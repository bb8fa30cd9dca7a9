"""Whether a scanner reads every character of label codes as it is printed."""

import string
from difflib import SequenceMatcher

ALPHABET = string.digits + string.ascii_uppercase  # the characters of label codes (ISO 7064 mod 37,36)
LONGEST = 200


def wrong(scanned: str) -> list[str]:
    """Sentences that name what came out wrong of the test label; none when it was read right.

    Small letters are right: codes are read in either.

    >>> wrong("0123456789abcdefghijklmnopqrstuvwxyz")
    []
    >>> wrong("0123456789ABCDEFGHIJKLMNOPQRSTUVWXZY")
    ['Y came out as Z.', 'Z came out as Y.']
    """
    came = scanned.strip()
    if not came:
        return ["Nothing came."]
    upper = came.upper() if len(came.upper()) == len(came) else came
    if len(upper) == len(ALPHABET):
        pairs = zip(ALPHABET, upper, strict=True)
        return [f"{meant} came out as {_shown(found)}." for meant, found in pairs if meant != found]
    steps = SequenceMatcher(None, ALPHABET, upper, autojunk=False).get_opcodes()
    return [said for step in steps if (said := _said(upper, *step))]


def _said(came: str, step: str, low: int, high: int, first: int, last: int) -> str:
    meant, found = " ".join(ALPHABET[low:high]), " ".join(map(_shown, came[first:last][:LONGEST]))
    if step == "delete":
        return f"{meant} did not come."
    if step == "replace":
        return f"{meant} came out as {found}."
    where = f"after {ALPHABET[low - 1]}" if low else "before 0"
    return f"{found} came besides, {where}." if step == "insert" else ""


def _shown(sign: str) -> str:
    return sign if sign.isprintable() and not sign.isspace() else f"U+{ord(sign):04X}"
