"""How long a link to a report lives, and who may end it."""

from .answers import Answer

DEFAULT_DAYS = 14
LONGEST_DAYS = 90
SECRET_BYTES = 32  # 256 bits; OWASP ASVS 5.0, 11.5.1, asks for 128 at least


def check_link(*, whom: str, days: int) -> list[Answer]:
    """Every reason against giving a link for so many days to somebody named in words.

    >>> check_link(whom="the auditor", days=14)
    []
    """
    said = []
    if not whom.strip():
        said.append(Answer("words-missing", "For whom the link is was not written down."))
    if not 1 <= days <= LONGEST_DAYS:
        said.append(Answer("link-too-long", f"A link for {days} days was asked for; it lives 1 to {LONGEST_DAYS}."))
    return said


def may_revoke(*, of_laboratory: bool, same_company: bool) -> bool:
    """Whether somebody may end a link: the laboratory's engineers and managers any, the giver's company its own.

    >>> may_revoke(of_laboratory=False, same_company=True)
    True
    """
    return of_laboratory or same_company
