"""Two people at one moment for one specimen: one winner each time, and the loser sees both values.

The long form: LABRECORDS_RACES=200 .venv/bin/pytest -s tests/faults/test_races.py
"""

import contextlib
import html
import os
import random
import re
import urllib.parse
import uuid
from collections import Counter

from tests.faults import servers
from tests.faults.sender import Answer, Line, entry, post
from tests.faults.together import all_at_once

RACES = int(os.environ.get("LABRECORDS_RACES", "10"))
SEED = 20260520
NAMES = {"runa": "Runa Vik", "timo": "Timo Aalto"}


def kept_of(house, specimen: str) -> list[str]:
    """What the database holds of a specimen."""
    query = "select r.recorded from labrecords_result r join labrecords_specimen s on s.id = r.specimen_id "
    return [recorded for (recorded,) in servers.ask(house.server, f"{query} where s.label = '{specimen}'")]


def values(chance: random.Random) -> dict[str, str]:
    """Two values that differ, one each."""
    return dict(zip(NAMES, (f"1.{part}" for part in chance.sample(range(40, 66), 2)), strict=True))


def test_programs_racing_for_a_specimen(house):
    chance, winners = random.Random(SEED), Counter()
    for _ in range(RACES):
        specimen, typed = next(house.untouched), values(chance)

        def send(line: Line, who: str, specimen=specimen, typed=typed) -> Answer:
            body = entry(house.people[who]["run"], specimen, typed[who], uuid.uuid4())
            return post(line, house.people[who]["token"], body)

        senders = [lambda line, who=who, send=send: send(line, who) for who in NAMES]
        answers = dict(zip(NAMES, all_at_once(house.port, senders), strict=True))
        assert sorted(answer.status for answer in answers.values()) == [201, 409]
        winner, loser = sorted(NAMES, key=lambda who: answers[who].status)
        (reason,) = answers[loser].told["answers"]
        assert reason["code"] == "specimen-done"
        assert reason["facts"]["sent"] == f"{typed[loser]} lbf/in"
        assert reason["facts"]["result"].startswith(f"{typed[winner]} lbf/in, kept at ")
        assert reason["facts"]["result"].endswith(NAMES[winner])
        assert kept_of(house, specimen) == [typed[winner]]
        winners[winner] += 1
    print(f"seed {SEED}: {RACES} races over the interface, one winner each: {dict(winners)}")


class Pages:
    """One technician in a browser, at the page of the own run."""

    def __init__(self, person: dict[str, str]) -> None:
        self.path = f"/runs/{person['run']}/"
        self.cookies = {"sessionid": person["session"]}

    def fields(self, port: int) -> dict[str, str]:
        """The fields of the form as the page gives them."""
        with contextlib.closing(Line(port)) as line:
            answer = line.ask("GET", self.path, self._headers())
        assert answer.status == 200
        given = re.search(r"csrftoken=([^;]+)", answer.headers.get("set-cookie", ""))
        self.cookies |= {"csrftoken": given[1]} if given else {}
        page = answer.content.decode()
        names = ("csrfmiddlewaretoken", "key", "technique", "rate", "rate_unit", "width_mm", "tested_at", "unit")
        return {name: _value(page, name) for name in names}

    def send(self, line: Line, fields: dict[str, str]) -> Answer:
        """Press the button."""
        headers = self._headers() | {"Content-Type": "application/x-www-form-urlencoded"}
        return line.ask("POST", self.path, headers, urllib.parse.urlencode(fields).encode())

    def _headers(self) -> dict[str, str]:
        cookies = "; ".join(f"{name}={value}" for name, value in self.cookies.items())
        return {"Cookie": cookies, "Referer": "https://127.0.0.1/", "Host": "127.0.0.1"}


def _value(page: str, name: str) -> str:
    """The value of a field, or the chosen one of a list."""
    chosen = re.search(rf'<select[^>]*name="{name}".*?<option value="([^"]*)" selected', page, re.DOTALL)
    tag = chosen or re.search(rf'<input[^>]*name="{name}"[^>]*value="([^"]*)"', page)
    return html.unescape(tag[1])


def test_pages_racing_for_a_specimen(house):
    chance, winners = random.Random(SEED), Counter()
    browsers = {who: Pages(house.people[who]) for who in NAMES}
    for _ in range(RACES):
        specimen, typed = next(house.untouched), values(chance)
        own = {"specimen": specimen, "modes": "AP"}
        forms = {who: browsers[who].fields(house.port) | own | {"typed": typed[who]} for who in NAMES}
        senders = [lambda line, who=who, forms=forms: browsers[who].send(line, forms[who]) for who in NAMES]
        answers = dict(zip(NAMES, all_at_once(house.port, senders), strict=True))
        assert sorted(answer.status for answer in answers.values()) == [302, 422]
        winner, loser = sorted(NAMES, key=lambda who: answers[who].status)
        page = html.unescape(answers[loser].content.decode())
        assert f"has {typed[winner]} lbf/in, kept at" in page
        assert f"says {typed[loser]} lbf/in." in page
        assert f'value="{typed[loser]}"' in page  # and what was typed is still there
        assert kept_of(house, specimen) == [typed[winner]]
        winners[winner] += 1
    print(f"seed {SEED}: {RACES} races on pages, one winner each: {dict(winners)}")


def test_control_two_people_for_two_specimens_both_win(house):
    def send(line: Line, who: str, specimen: str) -> Answer:
        return post(line, house.people[who]["token"], entry(house.people[who]["run"], specimen, "1.50", uuid.uuid4()))

    pairs = [(who, next(house.untouched)) for who in NAMES]
    senders = [lambda line, who=who, specimen=specimen: send(line, who, specimen) for who, specimen in pairs]
    assert [answer.status for answer in all_at_once(house.port, senders)] == [201, 201]
