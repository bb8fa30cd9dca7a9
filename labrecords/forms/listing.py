"""Any list of a page: narrowed by words and choices, put in the order of a column, and said in its caption."""

import re
import unicodedata
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from decimal import Decimal
from functools import cached_property
from urllib.parse import urlencode

from django.utils.html import strip_tags

from labrecords.templatetags import look

WORDS, SORT = "words", "sort"
TEXT, NUMBER, TIME = "text", "number", "time"
# How the two orders of a column are said, upwards and downwards.
SAID = {
    TEXT: ("A to Z", "Z to A"),
    NUMBER: ("smallest first", "largest first"),
    TIME: ("earliest first", "latest first"),
}
DIGITS = re.compile(r"(\d+)")


@dataclass(frozen=True)
class Column:
    """A column: how a row's value is got, which is also its place in the order, and as what it reads.

    `of` gives a text, a number, a day, a moment or None; `reads` gives the words of the cell where they are others.
    A column without `of` holds only buttons: it is neither sorted by nor searched.
    """

    key: str
    heading: str
    of: Callable | None = None
    reads: Callable | None = None
    kind: str = TEXT
    right: bool = False

    def words(self, row) -> str:
        """What the row's cell says."""
        if self.of is None:
            return ""
        return _text((self.reads or self.of)(row))


@dataclass(frozen=True)
class Choice:
    """A field that keeps the rows of one kind. `of` gives a row's value, or several; `names` what each is called."""

    key: str
    label: str
    of: Callable
    names: Mapping[str, str] = field(default_factory=dict)

    def values(self, row) -> tuple[str, ...]:
        """The values of a row, as texts."""
        found = self.of(row)
        return (found,) if isinstance(found, str) else tuple(found)

    def name(self, value: str) -> str:
        """What a value is called."""
        return self.names.get(value, value)


@dataclass(frozen=True)
class Nothing:
    """What a list says while nothing is on record: what comes next, with the way there for who may go it."""

    text: str
    url: str = ""
    label: str = ""


@dataclass
class Listing:
    """Rows as a page was asked to show them. What the page's address says beyond its own fields is passed over.

    `order` says how the rows come; `what` is one and several of them, as ("study", "studies"). Where a page has two
    lists, `prefix` keeps their fields apart and `beside` names those of the other. Of a large table only the newest
    `most` rows are given, out of `on_record`.
    """

    given: Sequence
    columns: Sequence[Column]
    asked: Mapping[str, str]
    what: tuple[str, str]
    order: str
    nothing: Nothing
    choices: Sequence[Choice] = ()
    prefix: str = ""
    beside: Sequence[str] = ()
    most: int = 0
    on_record: int | None = None

    @property
    def id(self) -> str:
        """Where a sorted or narrowed page goes on reading."""
        return f"{self.prefix}list"

    @property
    def label(self) -> str:
        """What the list is called."""
        return self.what[1].capitalize()

    @property
    def words(self) -> str:
        """The words that were asked for, as typed."""
        return self._asked(WORDS)

    @cached_property
    def rows(self) -> list:
        """What is shown: rows with all of the words and every choice, in the order that was asked for."""
        wanted = _plain(self.words).split()
        fitting = [row for row in self.given if self._is_chosen(row) and self._has(row, wanted)]
        column, down = self._sorted_by
        return fitting if column is None else _in_order(fitting, column, down=down)

    @property
    def total(self) -> int:
        """How many rows there would be without words and choices."""
        return len(self.given) if self.on_record is None else self.on_record

    @property
    def is_narrowed(self) -> bool:
        """Whether words or a choice may keep rows back."""
        return bool(self.words) or any(self._asked(choice.key) for choice in self.choices)

    @property
    def is_changed(self) -> bool:
        """Whether the list is another than the one that the page opens with."""
        return self.is_narrowed or self._sorted_by[0] is not None

    @property
    def caption(self) -> str:
        """How many rows of how many, in which order, and what was left out of a large table."""
        said = f"{self.count}, {self.order_said}"
        cut = self.most and len(self.given) >= self.most
        return f"{said}; only the {self.most} newest that could fit are looked at" if cut else said

    @property
    def count(self) -> str:
        """The rows shown, of how many.

        Such as "40 studies" or "12 of 40 studies".
        """
        shown = len(self.rows)
        noun = self.what[0] if self.total == 1 else self.what[1]
        return f"{self.total} {noun}" if shown == self.total else f"{shown} of {self.total} {noun}"

    @property
    def order_said(self) -> str:
        """The order of the rows in words."""
        column, down = self._sorted_by
        return self.order if column is None else f"by {_lower(column.heading)}, {SAID[column.kind][down]}"

    @property
    def headings(self) -> list[dict]:
        """For each column what its heading shows; those that sort have an address and say what it leads to."""
        return [self._heading(column) for column in self.columns]

    @property
    def fields(self) -> list[dict]:
        """The choices, each with what may be chosen; a value that no row has stays chosen, and fits nothing."""
        return [self._field(choice) for choice in self.choices]

    @property
    def kept(self) -> list[tuple[str, str]]:
        """What the form carries along unseen: the order, and what was asked of the list beside this one."""
        column, down = self._sorted_by
        own = [(self.prefix + SORT, _sign(column, down=down))] if column else []
        return own + self._of_the_other

    @property
    def all_url(self) -> str:
        """Back to every row, in the order in which they come."""
        return f"?{urlencode(self._of_the_other)}#{self.id}"

    @property
    def words_name(self) -> str:
        """The name of the field for words."""
        return self.prefix + WORDS

    def _asked(self, key: str) -> str:
        return self.asked.get(self.prefix + key, "").strip()

    @cached_property
    def _sorted_by(self) -> tuple[Column | None, bool]:
        wanted = self._asked(SORT)
        key, down = wanted.removeprefix("-"), wanted.startswith("-")
        found = next((column for column in self.columns if column.key == key and column.of), None)
        return found, down and found is not None

    @property
    def _of_the_other(self) -> list[tuple[str, str]]:
        return [(name, self.asked[name]) for name in self.beside if self.asked.get(name)]

    def _is_chosen(self, row) -> bool:
        wanted = ((choice, self._asked(choice.key)) for choice in self.choices)
        return all(not value or value in choice.values(row) for choice, value in wanted)

    def _has(self, row, wanted: list[str]) -> bool:
        said = _plain(" ".join(column.words(row) for column in self.columns)) if wanted else ""
        return all(word in said for word in wanted)

    def _heading(self, column: Column) -> dict:
        by, down = self._sorted_by
        sorts = by is column
        leads_down = sorts and not down
        return {
            "text": column.heading,
            "right": column.right,
            "aria_sort": ("descending" if down else "ascending") if sorts else "",
            "now": SAID[column.kind][down] if sorts else "",
            "next": SAID[column.kind][leads_down],
            "url": self._url(_sign(column, down=leads_down)) if column.of else "",
        }

    def _url(self, sort: str) -> str:
        keys = (WORDS, *(choice.key for choice in self.choices))
        own = [(self.prefix + key, self._asked(key)) for key in keys if self._asked(key)]
        return f"?{urlencode([*own, (self.prefix + SORT, sort), *self._of_the_other])}#{self.id}"

    def _field(self, choice: Choice) -> dict:
        chosen = self._asked(choice.key)
        found = {value for row in self.given for value in choice.values(row)}
        values = [*choice.names, *sorted(found - choice.names.keys())]
        if chosen and chosen not in values:
            values.append(chosen)
        options = [(value, choice.name(value), value == chosen) for value in values]
        return {"name": self.prefix + choice.key, "label": choice.label, "options": options}


def _in_order(rows: Iterable, column: Column, *, down: bool) -> list:
    """Rows by a column's values, those without one last in both directions; equal ones stay as they came."""
    with_value = [(row, column.of(row)) for row in rows]
    having = [(row, value) for row, value in with_value if value not in (None, "")]
    without = [row for row, value in with_value if value in (None, "")]
    return [row for row, _ in sorted(having, key=lambda pair: _place(pair[1]), reverse=down)] + without


def _place(value):
    """Where a value stands: texts without regard to capitals, and by the size of the numbers in them."""
    if not isinstance(value, str):
        return value
    return [(part.isdecimal(), int(part) if part.isdecimal() else 0, part) for part in DIGITS.split(_plain(value))]


def _text(value) -> str:
    if value is None:
        return ""
    if isinstance(value, datetime):
        return strip_tags(look.lab_time(value))
    if isinstance(value, date):
        return strip_tags(look.lab_date(value))
    return look.number(value) if isinstance(value, int | float | Decimal) else str(value)


def _plain(text: str) -> str:
    """Without regard to capitals and to the width of signs and spaces."""
    return unicodedata.normalize("NFKC", text).casefold()


def _lower(heading: str) -> str:
    """A heading within a sentence.

    >>> _lower("Verified range, N"), _lower("N of it")
    ('verified range, N', 'N of it')
    """
    return heading if heading[:2].strip().isupper() else heading[0].lower() + heading[1:]


def _sign(column: Column, *, down: bool) -> str:
    return f"-{column.key}" if down else column.key
