"""The one way in which content is turned into bytes before it is hashed.

JSON with sorted keys, no spaces, UTF-8, text in NFC. Numbers never appear as JSON numbers: a decimal is the text
of its digits, so that 9.30 stays 9.30, and instants are UTC with six digits and a Z.
"""

import hashlib
import json
import unicodedata
import uuid
from collections.abc import Mapping
from datetime import UTC, date, datetime
from decimal import Decimal
from typing import Any


def canonical(content: Any) -> str:
    """The canonical text of nested dicts, lists, text, numbers, dates and None.

    >>> from decimal import Decimal
    >>> canonical({"b": Decimal("9.30"), "a": None})
    '{"a":null,"b":"9.30"}'
    """
    return json.dumps(_plain(content), sort_keys=True, separators=(",", ":"), ensure_ascii=False)


def sha256(text: str) -> str:
    """The SHA-256 of a text's UTF-8 bytes, as 64 hexadecimal digits.

    The empty text's is in FIPS 180-4's own examples of zero-length messages.

    >>> sha256("")[:16]
    'e3b0c44298fc1c14'
    """
    return hashlib.sha256(text.encode()).hexdigest()


def instant(moment: datetime) -> str:
    """A moment as UTC with six digits; a moment without a zone is a mistake.

    >>> from datetime import datetime, timezone, timedelta
    >>> instant(datetime(2026, 11, 25, 9, 0, tzinfo=timezone(timedelta(hours=1))))
    '2026-11-25T08:00:00.000000Z'
    """
    if moment.tzinfo is None:
        raise ValueError(f"moment must carry a time zone, came as {moment!r}")
    return moment.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%S.%fZ")


def _plain(value: Any) -> Any:
    if value is None or isinstance(value, bool):
        return value
    if isinstance(value, str):
        return unicodedata.normalize("NFC", value)
    if isinstance(value, Mapping):
        return _plain_keys(value)
    if isinstance(value, list | tuple):
        return [_plain(item) for item in value]
    return _as_text(value)


def _plain_keys(value: Mapping[Any, Any]) -> dict[str, Any]:
    plain = {_plain(str(key)): _plain(item) for key, item in value.items()}
    if len(plain) != len(value):
        raise ValueError(f"content must have different names, came with two alike among {', '.join(plain)}")
    return plain


def _as_text(value: Any) -> str:
    if isinstance(value, datetime):
        return instant(value)
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, Decimal):
        return f"{value:f}"
    if isinstance(value, int | float):
        return repr(int(value) if isinstance(value, int) else float(value))  # kinds of their own write themselves apart
    if isinstance(value, uuid.UUID):
        return str(value)
    raise TypeError(f"content must be text, numbers, dates, lists or dicts, came as {type(value).__name__}")
