"""What every answer says besides its facts: a headline, the rule, who can lift it, what to do next."""

from dataclasses import dataclass

from .answers import Kind

ENGINEER = "An engineer of the study."
MANAGER = "The lab manager."


@dataclass(frozen=True)
class Words:
    """The standing words of one code. `headline` completes "Not recorded: ..." for refusals."""

    kind: Kind
    headline: str
    rule: str
    who: str
    next: str


def refusal(headline: str, rule: str, who: str, next_: str) -> Words:
    """The words of a refusal."""
    return Words(Kind.REFUSE, headline, rule, who, next_)
