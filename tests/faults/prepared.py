"""`python -m tests.faults.prepared PACKS`: the small laboratory with that many specimens, ready to be served.

Two technicians may test, each with a token, a session of pages and a run; what a test needs of it is printed as JSON.
"""

import json
import os
import sys

import django

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "labrecords.settings")
TECHNICIANS = ("runa", "timo")


def prepare(packs: int) -> dict:
    """Build it; give tokens, sessions and runs by username, and the specimens' labels."""
    from django.core.management import call_command

    from tests import world as cast
    from tests.walls import rows

    call_command("migrate", verbosity=0, interactive=False)
    world = rows.world_with(packs=packs)
    cast.authorise(world.timo, world.method, by=world.magnus, at=world.at)
    runs = {"runa": world.run, "timo": cast.open_run(world, person=world.timo, by=world.timo)}
    return {
        "people": {name: _standing(world, name, runs[name]) for name in TECHNICIANS},
        "specimens": [specimen.label for specimen in world.specimens],
    }


def _standing(world, name: str, run) -> dict[str, str]:
    from django.conf import settings
    from django.test import Client

    from labrecords.actions import people

    person = world.people[name]
    browser = Client()
    browser.force_login(person)
    token = people.give_token(person=person, label="bench computer", by=world.magnus, at=world.at)
    return {"token": token, "session": browser.cookies[settings.SESSION_COOKIE_NAME].value, "run": str(run.pk)}


if __name__ == "__main__":
    django.setup()
    sys.stdout.write(json.dumps(prepare(int(sys.argv[1]))))
