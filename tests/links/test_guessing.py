"""A secret cannot be guessed, and who tries is slowed."""

import os
import secrets
import sys
from datetime import timedelta

import pytest

from labrecords.models import LinkFailure
from labrecords.queries import links
from labrecords.rules.guessing import LONGEST_S, OF_LINKS, link_wait_s
from tests.links.conftest import open_at
from tests.links.test_giving import BASE64URL

SECRETS = int(os.environ.get("LABRECORDS_SECRETS", "2000"))  # the long form is 1000000
HERE, ELSEWHERE = "192.0.2.10", "203.0.113.7"


@pytest.mark.parametrize(
    ("failures", "since_s", "expected"),
    [
        (0, 0, 0),
        (OF_LINKS - 1, 0, 0),
        (OF_LINKS, 0, 1),
        (OF_LINKS, 1, 0),
        (OF_LINKS + 3, 7.5, 1),
        (10**6, 0, LONGEST_S),
    ],
)
def test_the_wait(failures, since_s, expected):
    assert link_wait_s(failures, since_s) == expected


def test_secrets_are_long_and_all_different(cast, give):
    made = [give()[1] for _ in range(50)]
    assert all(BASE64URL.fullmatch(secret) for secret in made)
    assert len(set(made)) == 50
    assert 43 * 6 >= 256 > 128  # bits: sixty-four letters, forty-three of them


def hits(cast, tried) -> int:
    return sum(links.open_with(links.digest(secret), cast.world.at) is not None for secret in tried)


def test_random_secrets_hit_nothing(cast, give):
    for _ in range(20):
        give()
    found = hits(cast, (secrets.token_urlsafe(32) for _ in range(SECRETS)))
    sys.stdout.write(f"{SECRETS} random secrets, 20 links: {found} opened\n")
    assert found == 0


def test_control_the_right_one_among_them_hits(cast, give):
    _, secret = give()
    assert hits(cast, [*(secrets.token_urlsafe(32) for _ in range(100)), secret]) == 1


def guess(times: int, address: str = HERE):
    return [open_at(secrets.token_urlsafe(32), REMOTE_ADDR=address) for _ in range(times)][-1]


def test_guessing_is_slowed_by_address(cast, give, clock):
    _, secret = give()
    assert guess(OF_LINKS).status_code == 404
    slowed = guess(1)
    assert (slowed.status_code, slowed["Retry-After"]) == (429, "1")
    # while the wait lasts nothing is looked at, so nothing is learned
    right = open_at(secret, REMOTE_ADDR=HERE)
    assert (right.status_code, right.content, dict(right.headers)) == (429, slowed.content, dict(slowed.headers))
    assert open_at(secret, REMOTE_ADDR=ELSEWHERE).status_code == 200
    clock.forward(seconds=1)
    assert open_at(secret, REMOTE_ADDR=HERE).status_code == 200
    assert guess(1).status_code == 404
    assert guess(1)["Retry-After"] == "2"
    clock.forward(hours=1, seconds=1)
    assert guess(1).status_code == 404


def test_a_refused_try_is_kept_by_address_alone_and_a_wait_is_not_made_longer(cast, clock):
    guess(OF_LINKS + 5)
    rows = list(LinkFailure.objects.values_list("address", "at"))
    assert rows == [(HERE, clock.now)] * OF_LINKS


def test_what_is_missing_behind_a_link_that_holds_is_no_guess(cast, give):
    _, secret = give()
    for _ in range(OF_LINKS + 5):
        assert open_at(secret, "files/none.csv", REMOTE_ADDR=HERE).status_code == 404
    assert LinkFailure.objects.count() == 0


def test_a_guess_costs_days(cast, clock):
    """A day of patience buys an address fewer than two hundred tries."""
    start, tried = clock.now, 0
    while clock.now < start + timedelta(days=1):
        answer = guess(1)
        if answer.status_code == 429:
            clock.forward(seconds=int(answer["Retry-After"]))
        else:
            tried += 1
    assert OF_LINKS < tried < 1000
