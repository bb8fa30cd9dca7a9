"""Whether the plan of a window study says enough before it is locked."""

import pytest

from labrecords.rules.window_plan import CORNER, NOMINAL, Setting, check_window

SETTINGS = [Setting("low", "L1"), Setting(NOMINAL, "L2"), Setting("high", "L3")]
LOTS = ["L1", "L2", "L3"]
PLACES = [(lot, place) for lot in LOTS for place in ("as made, left", "as made, right")]


def said(settings=SETTINGS, lots=LOTS, places=PLACES):
    told = check_window(settings, lots=lots, places=places)
    assert {answer.code for answer in told} <= {"window-incomplete"}
    return [answer.why for answer in told]


def test_three_settings_of_three_lots_with_the_same_places():
    assert said() == []


@pytest.mark.parametrize(
    ("settings", "lots", "words"),
    [
        (SETTINGS[:2], LOTS[:2], "The plan has 2 sealing settings; a window has 3 or more."),
        ([SETTINGS[0], SETTINGS[2], Setting(CORNER, "L2")], LOTS, "One setting, and only one, is the nominal one"),
        ([*SETTINGS, Setting(NOMINAL, "L1")], LOTS, "One setting, and only one, is the nominal one"),
        (SETTINGS, ["L1", "L2"], "No group of the plan is of lot L3."),
        (SETTINGS, [*LOTS, "L4"], "Lot L4 has no sealing setting."),
    ],
)
def test_what_is_missing(settings, lots, words):
    assert [told for told in said(settings, lots, []) if told.startswith(words)]


def test_settings_compare_only_where_each_has_the_same_places():
    (told,) = said(places=[*PLACES, ("L1", "as made, top")])
    assert told.startswith("The settings do not have the same places on the pack")
