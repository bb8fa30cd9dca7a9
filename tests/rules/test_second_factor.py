"""Codes against the vectors of the two standards, recovery codes, counters, sealed secrets, and where passkeys hold."""

import base64
import hashlib
from datetime import UTC, datetime, timedelta

import pytest

from labrecords.rules import sealed
from labrecords.rules import second_factor as rules

# RFC 6238, appendix B: time, and codes of eight digits by SHA-1, SHA-256, SHA-512. The secrets are 20, 32 and 64 ASCII
# digits, as the
# appendix's program has them.
VECTORS = [
    (59, "94287082", "46119246", "90693936"),
    (1111111109, "07081804", "68084774", "25091201"),
    (1111111111, "14050471", "67062674", "99943326"),
    (1234567890, "89005924", "91819424", "93441116"),
    (2000000000, "69279037", "90698825", "38618901"),
    (20000000000, "65353130", "77737706", "47863826"),
]
DIGESTS = [(hashlib.sha1, 20), (hashlib.sha256, 32), (hashlib.sha512, 64)]
# RFC 4226, appendix D: codes of six digits for the counters 0 to 9
COUNTED = ["755224", "287082", "359152", "969429", "338314", "254676", "287922", "162583", "399871", "520489"]


def secret(length: int) -> str:
    return base64.b32encode((b"1234567890" * 7)[:length]).decode()


SECRET = secret(20)


@pytest.mark.parametrize("vector", VECTORS, ids=lambda vector: str(vector[0]))
def test_codes_are_those_of_rfc_6238(vector):
    moment, *codes = vector
    assert [rules.code_at(secret(length), moment, digits=8, digest=digest) for digest, length in DIGESTS] == codes


def test_codes_are_those_of_rfc_4226():
    assert [rules.code_at(SECRET, 30 * counter) for counter in range(10)] == COUNTED


MOMENT = datetime(2009, 2, 13, 23, 31, 30, tzinfo=UTC)  # 1234567890, a row of the vectors


def test_a_code_belongs_to_its_step_and_to_the_two_beside_it():
    code = "005924"
    assert rules.step_of(SECRET, code, MOMENT) == 1234567890 // 30
    assert rules.step_of(SECRET, " 005 924 ", MOMENT) == 1234567890 // 30
    for seconds in (-30, 30):
        assert rules.step_of(SECRET, code, MOMENT + timedelta(seconds=seconds)) == 1234567890 // 30
    for seconds in (-60, 60):
        assert rules.step_of(SECRET, code, MOMENT + timedelta(seconds=seconds)) is None
    for wrong in ("005925", "", "89005924", "x" * 2000):
        assert rules.step_of(SECRET, wrong, MOMENT) is None


def test_a_step_is_taken_once_and_none_before_it():
    assert rules.check_step(step=10, last=9, name="n") == []
    assert [rules.check_step(step=step, last=10, name="n")[0].code for step in (10, 9, None)] == [
        "used-code",
        "used-code",
        "wrong-code",
    ]


@pytest.mark.parametrize(("came", "last", "stops"), [(0, 0, 0), (1, 0, 0), (9, 8, 0), (8, 8, 1), (7, 8, 1), (0, 8, 1)])
def test_a_counter_of_signatures_only_goes_up(came, last, stops):
    assert len(rules.check_counter(came=came, last=last, name="n")) == stops


def test_a_new_secret_has_160_bits_and_the_qr_code_carries_it():
    one, other = rules.new_secret(), rules.new_secret()
    assert one != other
    assert len(base64.b32decode(one)) == 20
    address = rules.address_of(one, person="runa", laboratory="Tern Peel Laboratory")
    assert address.startswith("otpauth://totp/Tern%20Peel%20Laboratory:runa?")
    assert f"secret={one}" in address


def test_recovery_codes_have_80_bits_and_are_compared_without_their_hyphens():
    codes = {rules.new_recovery_code() for _ in range(100)}
    assert len(codes) == 100
    for code in codes:
        assert rules.is_recovery(code)
        assert rules.digest_of(code) == rules.digest_of(code.replace("-", " ").upper())
    assert not rules.is_recovery("123456")


def test_a_sealed_secret_opens_with_its_key_for_its_owner_and_tells_nothing():
    kept = sealed.seal(SECRET, key="the key", owner=b"runa")
    assert sealed.opened(kept, key="the key", owner=b"runa") == SECRET
    assert SECRET.encode() not in kept
    assert kept != sealed.seal(SECRET, key="the key", owner=b"runa")
    bent = kept[:-1] + bytes([kept[-1] ^ 1])
    wrong = [
        (kept, "another", b"runa"),
        (kept, "the key", b"timo"),
        (bent, "the key", b"runa"),
        (b"", "the key", b"runa"),
    ]
    for content, key, owner in wrong:
        with pytest.raises(sealed.NotOpened):
            sealed.opened(content, key=key, owner=owner)


@pytest.mark.parametrize(
    ("host", "allowed", "trusted", "name", "permitted", "refused"),
    [
        ("a.example", ["a.example"], [], "a.example", ["https://a.example"], ["http://a.example", "https://b.example"]),
        ("A.Example", ["a.example"], [], "a.example", ["https://a.example"], ["https://a.example:8443"]),
        (
            "a.example",
            ["*"],
            ["https://a.example:8443"],
            "a.example",
            ["https://a.example:8443"],
            ["https://a.example"],
        ),
        ("localhost:8000", ["localhost"], [], "localhost", ["http://localhost:8000"], ["http://localhost.example"]),
    ],
)
def test_passkeys_hold_where_the_settings_say(host, allowed, trusted, name, permitted, refused):
    site = rules.site_of(host, allowed=allowed, trusted=trusted)
    assert site.name == name
    assert [origin for origin in permitted + refused if site.permits(origin)] == permitted


@pytest.mark.parametrize(
    ("host", "allowed"),
    [
        ("b.example", ["a.example"]),
        ("b.a.example", [".a.example"]),
        ("b.example", ["*"]),
        ("127.0.0.1:8000", ["127.0.0.1"]),
        ("[::1]:8000", ["[::1]"]),
        ("", []),
    ],
)
def test_a_host_that_the_settings_do_not_name_has_no_passkeys(host, allowed):
    assert rules.site_of(host, allowed=allowed, trusted=["https://*.example"]) is None
