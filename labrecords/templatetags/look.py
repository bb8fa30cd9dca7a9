"""How numbers, times, codes and tables are written on a page."""

import datetime
import json
import re
from decimal import ROUND_HALF_EVEN, Decimal
from zoneinfo import ZoneInfo

from django import template
from django.conf import settings
from django.core.serializers.json import DjangoJSONEncoder
from django.utils import timezone
from django.utils.html import format_html
from django.utils.safestring import mark_safe

register = template.Library()

MINUS = "\u2212"
NARROW_SPACE = "\u202f"
NO_VALUE = "no value"
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
LOOKS_LIKE_NUMBER = re.compile(r"[+\-\u2212]?\d[\d\u202f]*(\.\d+)?")
SCRIPT_ESCAPES = {ord("<"): "\\u003C", ord(">"): "\\u003E", ord("&"): "\\u0026"}
STATES = {
    "stop": ("stops work", "stop work", "overdue", "not recorded", "refused", "out of service"),
    "due": ("due soon", "check", "origin unknown", "held"),
    "wait": ("waiting for review", "waiting for file", "waiting", "in review"),
    "ok": ("in date", "kept", "released", "in service", "authorised"),
    "idle": ("draft", "not started", "void", "closed"),
}
STATE_KINDS = {word: kind for kind, words in STATES.items() for word in words}


@register.filter
def number(value, decimals=None):
    """A number as text: true minus sign, digits grouped from 10 000, never an exponent.

    With ``decimals`` it is rounded to that many, ties to the even digit; without, it keeps the digits it has.
    None and numbers that are not finite are written "no value".

    >>> number(Decimal("-9.30"))
    '−9.30'
    >>> number(2.5, 0), number(3.5, 0)
    ('2', '4')
    >>> number(12345.678, 1) == "12\u202f345.7"
    True
    """
    exact = _exact(value)
    if exact is None:
        return NO_VALUE
    if decimals is not None:
        exact = exact.quantize(Decimal(1).scaleb(-int(decimals)), rounding=ROUND_HALF_EVEN)
    return _signed(exact)


def _exact(value):
    """The shortest decimal that reads back as the value; None when there is no finite value."""
    if value is None or value == "":
        return None
    exact = value if isinstance(value, Decimal) else Decimal(str(value))
    return exact if exact.is_finite() else None


def _signed(exact):
    digits = format(abs(exact), ",f" if abs(exact) >= 10_000 else "f").replace(",", NARROW_SPACE)
    return f"{MINUS}{digits}" if exact < 0 else digits


@register.filter
def plain(value):
    """A decimal as it was stated, without trailing zeros.

    >>> plain(Decimal("100.000")), plain(Decimal("1.170"))
    ('100', '1.17')
    """
    return f"{value.normalize():f}"


@register.simple_tag
def quantity(value, unit, decimals=None):
    """A number with its unit, kept on one line.

    >>> quantity(Decimal("9.31"), "N/15 mm") == '<span class="quantity">9.31\u202fN/15\u202fmm</span>'
    True
    """
    text = number(value, decimals)
    if text == NO_VALUE:
        return text
    joined = f"{text} {unit}".replace(" ", NARROW_SPACE)
    return format_html('<span class="quantity">{}</span>', joined)


@register.filter
def lab_time(value):
    """An instant in the laboratory's time zone: "25 Nov 2026, 07:19".

    In an hour that occurs twice, when clocks go back, the offset is added.

    :raises ValueError: for a datetime without a time zone, which names no instant.
    """
    if value is None:
        return NO_VALUE
    local = _local(value)
    text = f"{_day(local)}, {local:%H:%M}"
    if local.utcoffset() != local.replace(fold=1 - local.fold).utcoffset():
        text += f" (UTC{local.utcoffset() / datetime.timedelta(hours=1):+g})".replace("-", MINUS)
    instant = value.astimezone(datetime.UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
    return format_html('<time datetime="{}">{}</time>', instant, text)


@register.filter
def lab_date(value):
    """A calendar date: "25 Nov 2026". An instant is given as the date it had in the laboratory."""
    if value is None:
        return NO_VALUE
    day = _local(value).date() if isinstance(value, datetime.datetime) else value
    return format_html('<time datetime="{}">{}</time>', day.isoformat(), _day(day))


def _local(value):
    if value.utcoffset() is None:
        raise ValueError("A time without a time zone names no instant: give one with a time zone.")
    return value.astimezone(_zone())


def _zone():
    """The zone of LAB_TIME_ZONE when the settings have one, otherwise the zone activated for the request."""
    name = getattr(settings, "LAB_TIME_ZONE", None)
    return ZoneInfo(str(name)) if name else timezone.get_current_timezone()


def _day(day):
    return f"{day.day} {MONTHS[day.month - 1]} {day.year}"


@register.filter
def code(value):
    """A label code or reference, set with a slashed zero.

    >>> code("SP-000123-K")
    '<span class="code">SP-000123-K</span>'
    """
    return format_html('<span class="code">{}</span>', value)


@register.filter
def state_of(word):
    """The kind of state (stop, due, wait, ok, idle) that a word of the look belongs to.

    :raises ValueError: for a word that belongs to none; a wrong shape would be worse than none.

    >>> state_of("Overdue")
    'stop'
    """
    try:
        return STATE_KINDS[str(word).lower()]
    except KeyError:
        raise ValueError(f"{word!r} is no word of the five states: add it to STATES.") from None


@register.filter
def script_json(value):
    """JSON for a script block: text of JSON, or anything that can be written as JSON.

    The three characters that could end the block or start a comment are escaped, which JSON allows anywhere
    they can occur.

    >>> script_json({"a": "</script>"})
    '{"a": "\\\\u003C/script\\\\u003E"}'
    """
    text = value if isinstance(value, str) else json.dumps(value, cls=DjangoJSONEncoder)
    return mark_safe(text.translate(SCRIPT_ESCAPES))  # noqa: S308 -- nothing of HTML is left in it


@register.filter
def grid(table):
    """A table ready to draw: which columns hold numbers, and each row with its id.

    ``table`` has columns (labels, or mappings with label and number), rows (sequences of cells)
    and, optional, row_ids. A column whose cells are all numbers, or text that looks like one, is a column
    of numbers.

    >>> grid({"columns": ["Lot", "Mean"], "rows": [["A", "9.31"]]})["columns"][1]
    {'label': 'Mean', 'number': True}
    """
    table = _mapping(table)
    rows = [list(row) for row in table["rows"]]
    columns = [_column(column, [row[i] for row in rows]) for i, column in enumerate(table["columns"])]
    ids = list(table.get("row_ids") or [None] * len(rows))
    return {"columns": columns, "rows": [_row(i, row, columns) for i, row in zip(ids, rows, strict=True)]}


def _mapping(table):
    names = ("columns", "rows", "row_ids")
    return table if isinstance(table, dict) else {name: getattr(table, name, None) for name in names}


def _column(column, cells):
    if isinstance(column, dict):
        return {"label": column["label"], "number": column.get("number", _numbers(cells))}
    return {"label": column, "number": _numbers(cells)}


def _numbers(cells):
    return bool(cells) and all(
        isinstance(cell, int | float | Decimal) or LOOKS_LIKE_NUMBER.fullmatch(str(cell)) for cell in cells
    )


def _row(row_id, cells, columns):
    pairs = zip(cells, columns, strict=True)
    return {"id": row_id, "cells": [{"value": cell, "number": column["number"]} for cell, column in pairs]}
