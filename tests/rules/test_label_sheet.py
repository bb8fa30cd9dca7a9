"""Labels lie within their sheet, beside one another, and begin where they are told to."""

import itertools

import pytest

from labrecords.rules.label_sheet import SHEETS, SMALLEST_MM, SheetProblem, sheet, start

# ISO 216 for A4; ASME Y14.1 size A for US letter (8.5 by 11 in, at 25.4 mm): from memory.
PAPER = {"a4": (210, 297), "letter": (8.5 * 25.4, 11 * 25.4), "single": (50, 25)}


@pytest.mark.parametrize("name", SHEETS)
def test_all_labels_lie_on_their_page_and_none_on_another(name):
    one = SHEETS[name]
    width, height = one.label
    places = [one.place(number) for number in range(one.count)]
    assert {page for page, _, _ in places} == {0}
    assert one.place(one.count)[0] == 1
    for _, left, top in places:
        assert 0 <= left <= one.width - width + 1e-9
        assert 0 <= top <= one.height - height + 1e-9
    for (_, left, top), (_, other_left, other_top) in itertools.combinations(places, 2):
        assert abs(left - other_left) >= width - 1e-9 or abs(top - other_top) >= height - 1e-9
    assert (width, height) >= SMALLEST_MM


@pytest.mark.parametrize(("name", "count"), [("a4-3x8", 24), ("a4-5x13", 65), ("letter-3x8", 24), ("single", 1)])
def test_the_paper_is_the_one_named(name, count):
    assert (SHEETS[name].width, SHEETS[name].height) == pytest.approx(PAPER[name.split("-")[0]])
    assert SHEETS[name].count == count


def test_margins_are_those_typed_and_the_others_the_sheets_own():
    made = sheet("a4-3x8", {"side": 5.0, "top": None, "between": None})
    assert (made.side, made.top, made.between) == (5.0, 13, 2)


@pytest.mark.parametrize("margins", [{"side": 70.0}, {"top": 120.0}, {"between": 200.0}])
def test_margins_that_leave_no_room_for_a_code_are_refused(margins):
    with pytest.raises(SheetProblem, match="Make the margins smaller"):
        sheet("a4-3x8", margins)


def test_a_sheet_that_is_not_there_is_refused():
    with pytest.raises(SheetProblem, match="is not a sheet"):
        sheet("a5", {})


@pytest.mark.parametrize("first", [0, 25])
def test_a_sheet_is_begun_at_one_of_its_labels(first):
    with pytest.raises(SheetProblem, match="labels 1 to 24"):
        start(SHEETS["a4-3x8"], first)
