"""Label codes: the published check character, misreadings, and codes inside longer texts."""

import string

import pytest
from hypothesis import given
from hypothesis import strategies as st
from stdnum.iso7064 import mod_37_36

from labrecords.rules.labels import KINDS, MOST, Label, LabelProblem, find, label, parse

numbers = st.integers(min_value=1, max_value=MOST)
kinds = st.sampled_from(sorted(KINDS))


def by_hand(text):
    """ISO 7064 mod 37,36 written from the standard's description, as a second way to the same character."""
    alphabet = string.digits + string.ascii_uppercase
    product = 36
    for character in text:
        total = (product + alphabet.index(character)) % 36 or 36
        product = total * 2 % 37
    return alphabet[(37 - product) % 36]


def test_published_example_of_the_check_character():
    # The worked identifier of the GRid standard, which uses ISO 7064 mod 37,36: A1-2425G-ABC1234002-M.
    # from memory
    assert mod_37_36.calc_check_digit("A12425GABC1234002") == "M"
    assert by_hand("A12425GABC1234002") == "M"


@given(kinds, numbers)
def test_check_character_agrees_with_a_second_calculation(kind, number):
    assert label(kind, number)[-1] == by_hand(f"{kind}{number:06d}")


@given(kinds, numbers)
def test_a_printed_label_is_read_back(kind, number):
    text = label(kind, number)
    wanted = Label(kind, number, text)
    assert parse(text) == wanted
    assert parse(wanted.encoded) == wanted
    assert parse(text.lower().replace("-", " ")) == wanted
    assert str(wanted) == text


@given(kinds, numbers, st.data())
def test_any_one_wrong_character_is_noticed(kind, number, data):
    code = parse(label(kind, number)).encoded
    place = data.draw(st.integers(min_value=2, max_value=len(code) - 1))
    alphabet = string.digits + (string.ascii_uppercase if place == len(code) - 1 else "")
    other = data.draw(st.sampled_from(alphabet.replace(code[place], "")))
    with pytest.raises(LabelProblem, match="Read the label again"):
        parse(code[:place] + other + code[place + 1 :])


def test_nearly_all_exchanges_of_neighbouring_digits_are_noticed():
    # ISO 7064 says of its hybrid systems that they detect nearly all of these, not all. from memory
    codes = [parse(label("SP", number)).encoded for number in range(101, 100_000, 37)]
    swapped = [
        code[:place] + code[place + 1] + code[place] + code[place + 2 :]
        for code in codes
        for place in range(2, 7)
        if code[place] != code[place + 1]
    ]
    missed = sum(bool(find(code)) for code in swapped)
    assert len(swapped) > 10_000
    assert 0 < missed < len(swapped) / 50


@pytest.mark.parametrize(
    "text",
    [
        "",
        "SP",
        "SP-000123",
        "SP-00123-N",
        "9.3-000123-N",
        "SP-000123-N-1",
        "SP'000123'N",
        "SP-000123-NN",
        "x" * 90,
    ],
)
def test_what_is_no_label_code_says_how_one_looks(text):
    with pytest.raises(LabelProblem, match=r"is not a label code\. A code looks like SP-000123-N"):
        parse(text)


def test_an_unknown_kind_names_the_kinds():
    for attempt in (lambda: parse("QQ-000123-7"), lambda: label("QQ", 1), lambda: find("text", "QQ")):
        with pytest.raises(LabelProblem, match=r"“QQ” is not a kind of label.*TS \(tester\)"):
            attempt()


@pytest.mark.parametrize("number", [0, -1, MOST + 1])
def test_numbers_outside_the_range_get_no_label(number):
    with pytest.raises(LabelProblem, match="lies between 1 and"):
        label("SP", number)


def test_zero_and_padded_numbers_are_not_read():
    for digits in ("000000", "0000123"):
        with pytest.raises(LabelProblem, match="Read the label again"):
            parse(f"SP{digits}{by_hand('SP' + digits)}")


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("SP-000123-N.csv", ["SP-000123-N"]),
        ("sp000123n_repeat.TXT", ["SP-000123-N"]),
        ("SP_000123_N", ["SP-000123-N"]),
        ("Specimen: SP 000123 N; tester TS-000002-3", ["SP-000123-N", label("TS", 2)]),
        (f"{label('SP', 7)} {label('SP', 8)} {label('SP', 7)}", [label("SP", 7), label("SP", 8)]),
        (f"seven digits {label('SP', 1234567)}", [label("SP", 1234567)]),
        ("SP-000123-N", ["SP-000123-N"]),
        ("XSP000123N", []),
        ("ÄSP000123N", []),
        ("SP000123NX", []),
        ("SP000123N5", []),
        ("SP000123Né", []),
        ("SP-000123-A", []),
        ("QQ-000123-N", []),
        ("SP000000" + by_hand("SP000000"), []),
        ("", []),
    ],
)
def test_codes_inside_longer_texts(text, found):
    text = text.replace("TS-000002-3", label("TS", 2))
    assert [one.text for one in find(text)] == found


def test_only_the_kind_asked_for_is_found():
    text = f"{label('SP', 7)} on {label('TS', 2)} with {label('LC', 3)}"
    assert [one.kind for one in find(text)] == ["SP", "TS", "LC"]
    assert [one.text for one in find(text, "TS")] == [label("TS", 2)]


@given(st.text(max_size=60))
def test_no_chance_text_is_read_as_a_label(text):
    with pytest.raises(LabelProblem, match=r"\.$"):
        parse(text)
