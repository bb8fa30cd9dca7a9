"""`demo`: an invented laboratory to walk through, served on this computer only."""

import argparse
import os
import shutil
import socket
import subprocess
import sys
from datetime import date

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError
from django.db import connections
from django.utils import timezone

from labrecords.management.demo import mark
from labrecords.management.demo.build import Built, build, calendar
from labrecords.management.demo.days import Days
from labrecords.queries import lab, people

HERE = "127.0.0.1"
WSGI = "labrecords.wsgi:application"
SERVED = (
    *("--interface", "wsgi", "--host", HERE, "--workers", "1", "--blocking-threads", "4", "--no-ws"),
    "--respawn-failed-workers",  # without it the server ends with its first worker that does
)
ANEW = "`python manage.py demo --fresh` removes it and builds a new one, with new passwords."


class Command(BaseCommand):
    help = "Builds an invented laboratory if there are no people yet, and serves it on this computer only."
    requires_system_checks = []

    def add_arguments(self, parser):
        parser.add_argument("--today", type=_day, metavar="YYYY-MM-DD", help="the day around which the demo is built")
        parser.add_argument("--port", type=int, default=8000)
        parser.add_argument("--no-serve", action="store_true", help="build only")
        parser.add_argument("--fresh", action="store_true", help="remove the demo that is there, and build a new one")

    def handle(self, *_args, today, port, no_serve, fresh, **_options):
        days = _calendar(today)
        if not no_serve:
            refuse_taken(port)
        self.migrate()
        if fresh:
            self.clear_away()
        if people.anybody():
            self.say_it_exists()
        else:
            self.say_who(self.build(days))
        if no_serve:
            self.stdout.write("\n`python manage.py demo` serves it.")
        else:
            self.serve(port)

    def migrate(self) -> None:
        call_command("migrate", verbosity=0, interactive=False)
        self.stdout.write("The database is up to date.")

    def clear_away(self) -> None:
        """Remove the built-in server's data and the demo's files, if they are a demo's."""
        server = settings.EMBEDDED_SERVER
        if server is None:
            raise CommandError("--fresh clears the built-in server only. Unset DATABASE_URL to use that one.")
        if not people.anybody():
            return
        if demo_state() is None:
            raise CommandError(f"The records in {settings.HOME} are not a demo's, so nothing was removed.")
        connections.close_all()
        server.stop()
        shutil.rmtree(server.data)
        shutil.rmtree(mark.folder(settings.HOME))
        self.stdout.write("The demo that was here has been removed.")
        self.migrate()

    def build(self, days: Days) -> Built:
        return build(home=settings.HOME, days=days, say=self.stdout.write)

    def say_it_exists(self) -> None:
        if settings.EMBEDDED_SERVER is None:
            raise CommandError(
                "DATABASE_URL names a database that has people in it. The demo is built only where there is nobody "
                "yet: unset DATABASE_URL, or name an empty database."
            )
        state = demo_state()
        if state is None:
            raise CommandError(
                f"The records in {settings.HOME} are not a demo's, so nothing was changed. "
                "Set LABRECORDS_HOME to another folder for a demo."
            )
        if state == mark.BEGUN:
            raise CommandError(f"A demo was begun here and not finished. {ANEW}")
        self.stdout.write(f"The demo exists; its passwords were printed when it was built. {ANEW}")

    def say_who(self, built: Built) -> None:
        self.stdout.write("\nEverybody and everything here is invented. Passwords are printed once, now:\n\n")
        for account in built.accounts:
            self.stdout.write(f"  {account.user:<10} {account.password}   {account.name}, {account.does}")
        pins = ", ".join(f"{badge} with {pin}" for badge, pin in built.pins.items())
        self.stdout.write(f"\nBadges and PINs of the technicians, who take over a bench with them: {pins}")
        self.stdout.write(f"Token of bench tester 1 for the programming interface: {built.token}")
        self.stdout.write(f"Trace files to drop on the page of {built.code}: {built.folder}")

    def serve(self, port: int) -> None:
        """Serve on this computer only, until somebody presses Ctrl-C."""
        connections.close_all()
        self.stdout.write(f"\nOpen http://localhost:{port}/ and sign in. Ctrl-C ends it; the records stay.")
        if settings.EMBEDDED_SERVER is not None:
            self.stdout.write("The database server runs on until `python manage.py database stop`.")
        self.stdout.flush()
        # The web server takes this process's place: its workers are forks, and a fork of a process that has set
        # PDFs would wait for ever for threads that it did not inherit.
        os.chdir(settings.BASE_DIR)
        beside = [sys.executable, "manage.py", "work_jobs", "--beside", str(os.getpid())]
        subprocess.Popen(beside)  # noqa: S603 - ours; it ends when the web server does
        os.execv(sys.executable, [sys.executable, "-m", "granian", *SERVED, "--port", str(port), WSGI])  # noqa: S606 - ours


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise argparse.ArgumentTypeError(f"{text!r} is not a day; write it as 2026-05-20") from None


def _calendar(today: date | None) -> Days:
    try:
        return calendar(today, clock=timezone.now())
    except ValueError as problem:
        raise CommandError(str(problem)) from problem


def demo_state() -> str | None:
    """How far the demo in the database has been built; None if what is there is no demo."""
    laboratory = lab.laboratory()
    return mark.state(settings.HOME, laboratory.pk if laboratory else None)


def refuse_taken(port: int) -> None:
    """Say so at once when the port cannot be had. Raises CommandError."""
    with socket.socket() as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((HERE, port))
        except (OSError, OverflowError) as refusal:
            raise CommandError(f"Port {port} cannot be used ({refusal}). Name another: --port 8010.") from refusal
