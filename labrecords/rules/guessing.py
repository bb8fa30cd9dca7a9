"""How long somebody waits before the next try to sign in, so that guessing is slow and nobody is locked out by others.

The wait grows for a name from one address; an address that tries many names waits as well. A name that many addresses
guess at is slow only from addresses from which its owner has not signed in before.
"""

import math
from dataclasses import dataclass

FREE = 5  # tries of a name from one address before a wait
LONGEST_S = 900
OF_AN_ADDRESS = 100  # failures of all names in an hour
OF_LINKS = 20  # links from one address in an hour that open nothing, before a wait
OF_A_NAME = 100  # failures in a row from all addresses: NIST SP 800-63B, 5.2.2, from memory


@dataclass(frozen=True)
class Tries:
    """What is known of the tries before this one. `since_s` is the time since the last failure of each kind."""

    pair: int  # failures of this name from this address since it last went well there
    pair_since_s: float
    address: int  # failures of all names from this address in the last hour
    address_since_s: float
    name: int  # failures of this name from all addresses since it last went well
    name_since_s: float
    known: bool  # the name has signed in from this address before


def wait_s(tries: Tries) -> int:
    """Seconds to wait before another try is looked at; 0 if none.

    >>> wait_s(Tries(pair=6, pair_since_s=0, address=6, address_since_s=0, name=6, name_since_s=0, known=False))
    2
    """
    waits = [0.0]
    if tries.pair >= FREE:
        waits.append(_grown(tries.pair - FREE) - tries.pair_since_s)
    if tries.address >= OF_AN_ADDRESS:
        waits.append(LONGEST_S - tries.address_since_s)
    if tries.name >= OF_A_NAME and not tries.known:
        waits.append(LONGEST_S - tries.name_since_s)
    return _whole(max(waits))


def link_wait_s(failures: int, since_s: float) -> int:
    """Seconds before an address may ask for another link; 0 if none.

    `failures`: how many of its links opened nothing in the last hour; `since_s`: time since the last of them.

    >>> link_wait_s(19, 0), link_wait_s(22, 0.5), link_wait_s(22, 4)
    (0, 4, 0)
    """
    if failures < OF_LINKS:
        return 0
    return _whole(_grown(failures - OF_LINKS) - since_s)


def _grown(more: int) -> float:
    """A wait in s that doubles with every try after the free ones."""
    return min(2.0 ** min(more, 20), LONGEST_S)


def _whole(seconds: float) -> int:
    """Whole seconds, rounded up; none of a wait that is over."""
    return max(math.ceil(seconds), 0)
