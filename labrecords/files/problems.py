"""Why a trace file was not read: one code, one sentence, and the line it is about."""


class FileProblem(Exception):
    """A file that cannot be read as it stands. Nothing of it is kept.

    code : one of `CODES`; sentence : what is wrong and what to do next; line : 1-based, or None for the
    whole file.
    """

    def __init__(self, code: str, sentence: str, line: int | None = None) -> None:
        super().__init__(sentence)
        self.code = code
        self.sentence = sentence
        self.line = line


CODES = {
    "too-large": "more bytes than a trace file has",
    "too-wide": "a line or a table far wider than a trace",
    "empty": "nothing in it",
    "binary": "not a text file",
    "encoding": "bytes that are not text in the encoding",
    "no-table": "no rows of numbers",
    "table-moved": "the rows of numbers start elsewhere than the layout says",
    "columns-unknown": "which column holds what is not known, or differs from the layout",
    "ambiguous-decimal": "commas that may be separators or decimals",
    "not-a-number": "text where a number belongs",
    "not-finite": "NaN, infinity, or a word for a missing reading",
    "ragged": "a row with too few or too many cells",
    "out-of-range": "a number no tester can have measured",
    "goes-backwards": "displacement or time that falls",
    "too-short": "too few rows for a trace",
    "unit-unknown": "a unit that is not stated, not known or not plain",
    "unit-differs": "a unit chosen that is not the one the heading states",
    "rate-unknown": "no displacement column, and no one rate to make it from time",
}
