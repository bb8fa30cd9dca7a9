"""Attempts that are refused: what people try in good faith, and what the records keep of it."""

from collections.abc import Callable, Sequence

from labrecords.actions.refusals import Refused


class NotRefused(RuntimeError):
    """The demo tried something that must be refused, and it was done, or refused for another reason."""


def refused_with(codes: Sequence[str], attempt: Callable[[], object]) -> None:
    """Make an attempt that is refused with exactly these codes."""
    try:
        attempt()
    except Refused as refused:
        if sorted(refused.codes) != sorted(codes):
            raise NotRefused(f"Expected {', '.join(codes)}; refused with {', '.join(refused.codes)}.") from refused
        return
    raise NotRefused(f"Expected {', '.join(codes)}; it was done.")
