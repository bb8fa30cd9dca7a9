"""`start_laboratory`: names a new laboratory and makes its first lab manager, who adds everybody else."""

import getpass
import sys
import zoneinfo
from datetime import datetime
from typing import Any

from django.contrib.auth import get_user_model
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.core.management.base import BaseCommand, CommandError
from django.db import ProgrammingError
from django.utils import timezone

from labrecords.actions import lab, people
from labrecords.queries import people as known

QUESTIONS = {
    "name": "Name of the laboratory",
    "address": "Its address, as reports print it",
    "place_of_work": "Where the tests are made, if not at the address",
    "time_zone": "Its time zone, such as Europe/Dublin",
    "user": "User name of the first lab manager",
    "manager": "Full name of the first lab manager",
}
OPTIONAL = {"place_of_work": "at the address"}


class Command(BaseCommand):
    help = "Names a new laboratory and makes its first lab manager. Asks for whatever is not given."

    def add_arguments(self, parser):
        for name, question in QUESTIONS.items():
            parser.add_argument(f"--{name.replace('_', '-')}", help=question)
        parser.add_argument("--paper", choices=["a4", "us-letter"], default="a4", help="paper of the reports")
        parser.add_argument("--password-stdin", action="store_true", help="read the password from standard input")

    def handle(self, *_args, paper, password_stdin, **options):
        refuse_second()
        told = {name: options[name] or _ask(name) for name in QUESTIONS}
        _check(told)
        password = sys.stdin.readline().rstrip("\n") if password_stdin else _ask_password()
        _check_password(password, told)
        start(told, paper=paper, password=password, at=timezone.now())
        self.stdout.write(f"{told['name']} is ready. {told['manager']} signs in as {told['user']} and adds the others.")


def refuse_second() -> None:
    """Stop where there are people already, or no tables yet. Raises CommandError."""
    try:
        anybody = known.anybody()
    except ProgrammingError as problem:
        raise CommandError("The database has no tables yet. Run `python manage.py migrate` first.") from problem
    if anybody:
        raise CommandError("There are people here already, so this laboratory has been started. A manager adds others.")


def _ask(name: str) -> str:
    answer = input(f"{QUESTIONS[name]}: ").strip()
    return answer or OPTIONAL.get(name, "")


def _ask_password() -> str:
    password = getpass.getpass("Password of the first lab manager, at least 15 characters: ")
    if getpass.getpass("The same again: ") != password:
        raise CommandError("The two passwords differ, so nothing was made. Start again.")
    return password


def _check(told: dict[str, Any]) -> None:
    for name, answer in told.items():
        if not answer.strip():
            raise CommandError(f"{QUESTIONS[name]}: this must be given. Nothing was made.")
    if told["time_zone"] not in zoneinfo.available_timezones():
        raise CommandError(
            f"{told['time_zone']!r} is not the name of a time zone; write one such as Europe/Dublin. Nothing was made."
        )


def _check_password(password: str, told: dict[str, Any]) -> None:
    try:
        validate_password(password, get_user_model()(username=told["user"], name=told["manager"]))
    except ValidationError as problem:
        raise CommandError(f"{' '.join(problem.messages)} Nothing was made.") from problem


def start(told: dict[str, Any], *, paper: str, password: str, at: datetime) -> None:
    """Make the first manager, then the laboratory's own entry."""
    manager = people.add_first_manager(username=told["user"], name=told["manager"], password=password, at=at)
    described = {name: told[name] for name in ("name", "address", "place_of_work", "time_zone")}
    lab.describe(paper=paper, by=manager, at=at, **described)
