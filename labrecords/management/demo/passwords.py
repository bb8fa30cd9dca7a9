"""Passwords and PINs that can be read aloud and typed, made anew each time and printed once."""

import secrets

from labrecords.rules import badge

CONSONANTS, VOWELS = "bdfghklmnprstvz", "aeiou"
WORDS, SYLLABLES = 4, 3


def one_time_password() -> str:
    """Four words of three syllables: 27 characters, one of about 10^22."""
    return "-".join("".join(_syllable() for _ in range(SYLLABLES)) for _ in range(WORDS))


def _syllable() -> str:
    return secrets.choice(CONSONANTS) + secrets.choice(VOWELS)


def one_time_pin() -> str:
    """Six digits that a badge takes."""
    while badge.problem(pin := f"{secrets.randbelow(10**badge.SHORTEST):0{badge.SHORTEST}d}"):
        pass
    return pin
