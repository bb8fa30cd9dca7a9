"""`demo`: an invented laboratory to walk through, served on this computer only."""

import shutil
import socket
from datetime import date

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError
from django.db import connections
from django.utils import timezone

from labrecords.management.demo import mark
from labrecords.management.demo.build import Built, build
from labrecords.queries import lab, people

HERE = "127.0.0.1"
ANEW = "`python manage.py demo --fresh` removes it and builds a new one, with new passwords."


def _day(text: str) -> date:
    return date.fromisoformat(text)


class Command(BaseCommand):
    help = "Builds an invented laboratory if there are no people yet, and serves it on this computer only."
    requires_system_checks = []

    def add_arguments(self, parser):
        parser.add_argument("--today", type=_day, metavar="YYYY-MM-DD", help="the day around which the demo is built")
        parser.add_argument("--port", type=int, default=8000)
        parser.add_argument("--no-serve", action="store_true", help="build only")
        parser.add_argument("--fresh", action="store_true", help="remove the demo that is there, and build a new one")

    def handle(self, *_args, today, port, no_serve, fresh, **_options):
        if not no_serve:
            refuse_taken(port)
        call_command("migrate", verbosity=0, interactive=False)
        self.stdout.write("The database is up to date.")
        if fresh:
            self.clear_away()
        if people.anybody():
            self.say_it_exists()
        else:
            self.say_who(self.build(today))
        if not no_serve:
            self.serve(port)

    def build(self, today: date | None) -> Built:
        try:
            return build(home=settings.HOME, clock=timezone.now(), today=today, say=self.stdout.write)
        except ValueError as problem:
            raise CommandError(str(problem)) from problem

    def say_it_exists(self) -> None:
        if settings.EMBEDDED_SERVER is None:
            raise CommandError(
                "DATABASE_URL names a database that has people in it. The demo is built only where there is nobody "
                "yet: unset DATABASE_URL, or name an empty database."
            )
        if not demo_is_here():
            raise CommandError(
                f"The records in {settings.HOME} are not the demo's, so nothing was changed. "
                "Set LABRECORDS_HOME to another folder for a demo."
            )
        self.stdout.write(f"The demo exists; its passwords were printed when it was built. {ANEW}")

    def clear_away(self) -> None:
        """Remove the built-in server's data and the demo's files, if they are a demo's."""
        server = settings.EMBEDDED_SERVER
        if server is None:
            raise CommandError("--fresh clears the built-in server's demo only. Unset DATABASE_URL to use it.")
        if not people.anybody():
            return
        if not demo_is_here():
            raise CommandError(f"The records in {settings.HOME} are not the demo's, so nothing was removed.")
        connections.close_all()
        server.stop()
        shutil.rmtree(server.data)
        shutil.rmtree(mark.folder(settings.HOME))
        self.stdout.write("The demo that was here has been removed.")
        call_command("migrate", verbosity=0, interactive=False)

    def say_who(self, built: Built) -> None:
        self.stdout.write(
            "\nPasswords are printed once, now. Everything is invented; nothing leaves this computer.\n\n"
        )
        for account in built.accounts:
            self.stdout.write(f"  {account.user:<10} {account.password}   {account.name}, {account.does}")
        self.stdout.write(f"\nToken of bench tester 1 for the programming interface: {built.token}")
        self.stdout.write(f"Trace files to drop on the page of {built.code}: {built.folder}")

    def serve(self, port: int) -> None:
        from granian import Granian
        from granian.constants import Interfaces

        connections.close_all()
        self.stdout.write(f"\nOpen http://localhost:{port}/ and sign in. Ctrl-C ends it; the records stay.")
        if settings.EMBEDDED_SERVER is not None:
            self.stdout.write("The database server runs on until `python manage.py database stop`.")
        self.stdout.flush()
        Granian(
            "labrecords.wsgi:application",
            address=HERE,
            port=port,
            interface=Interfaces.WSGI,
            workers=1,
            blocking_threads=4,
            websockets=False,
        ).serve()


def demo_is_here() -> bool:
    """Whether the laboratory in the database is a demo's."""
    laboratory = lab.laboratory()
    return laboratory is not None and mark.fits(settings.HOME, laboratory.pk)


def refuse_taken(port: int) -> None:
    """Say so at once when another program listens on the port. Raises CommandError."""
    with socket.socket() as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((HERE, port))
        except (OSError, OverflowError) as refusal:
            raise CommandError(
                f"Port {port} cannot be used: {refusal}. Name another one, such as --port {port % 60000 + 1}."
            ) from refusal
