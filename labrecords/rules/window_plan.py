"""Whether the plan of a window study says enough before it is locked."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from .answers import Answer

FEWEST_SETTINGS = 3
NOMINAL, CORNER = "nominal", "corner"


@dataclass(frozen=True)
class Setting:
    """A sealing setting as planned: low, nominal, high or a corner, and the client's lot sealed at it."""

    kind: str
    lot: str


def check_window(
    settings: Sequence[Setting], *, lots: Iterable[str], places: Iterable[tuple[str, str]]
) -> list[Answer]:
    """Every reason against locking a window study.

    `lots` are the client's lots of the plan's groups; `places` tells for each group its lot and where on the pack,
    since settings compare only where each has strips from the same places.
    """
    said = [*_settings(settings), *_lots(settings, set(lots)), *_places(places)]
    return [Answer("window-incomplete", why) for why in said]


def _settings(settings: Sequence[Setting]) -> list[str]:
    said = []
    if len(settings) < FEWEST_SETTINGS:
        said.append(f"The plan has {len(settings)} sealing settings; a window has {FEWEST_SETTINGS} or more.")
    if sum(setting.kind == NOMINAL for setting in settings) != 1:
        said.append("One setting, and only one, is the nominal one, with which the others are compared.")
    return said


def _lots(settings: Sequence[Setting], lots: set[str]) -> list[str]:
    sealed = {setting.lot for setting in settings}
    said = [f"No group of the plan is of lot {lot}." for lot in sorted(sealed - lots)]
    return said + [f"Lot {lot} has no sealing setting." for lot in sorted(lots - sealed)]


def _places(places: Iterable[tuple[str, str]]) -> list[str]:
    of_lot: dict[str, set[str]] = {}
    for lot, place in places:
        of_lot.setdefault(lot, set()).add(place)
    if len({frozenset(found) for found in of_lot.values()}) < 2:
        return []
    return ["The settings do not have the same places on the pack: give each lot the same arms and positions."]
