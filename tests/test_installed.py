"""What is installed is what was written down, to the version; and the settings of a real installation are sound."""

import os
import pathlib
import re
import subprocess
import sys
from importlib import metadata

import pytest
from packaging.requirements import Requirement

ROOT = pathlib.Path(__file__).parent.parent
FILES = ("requirements.txt", "tests/requirements.txt")
# What a fresh virtual environment holds by itself.
OF_EVERY_ENVIRONMENT = {"pip", "setuptools", "wheel"}
PRODUCTION = {
    "DATABASE_URL": "postgresql://labrecords_app@db.example.org/labrecords",
    "SECRET_KEY": "only-for-this-check-" + "0123456789abcdef" * 3,
    "ALLOWED_HOSTS": "records.example.org",
}


def plain(name: str) -> str:
    return re.sub(r"[-_.]+", "-", name).lower()


def pins() -> dict[str, str]:
    """Version of each requirement that holds for this Python."""
    found = {}
    for name in FILES:
        for line in (ROOT / name).read_text().splitlines():
            text = line.partition("#")[0].strip()
            if text and not text.startswith("-r"):
                wanted = Requirement(text)
                (pin,) = wanted.specifier
                assert pin.operator == "==", line
                assert "*" not in pin.version, line
                if wanted.marker is None or wanted.marker.evaluate():
                    found[plain(wanted.name)] = pin.version
    return found


def installed() -> dict[str, str]:
    return {plain(one.name): one.version for one in metadata.distributions()}


def unwritten(there: dict[str, str], written: dict[str, str]) -> set[str]:
    """What is installed and nobody wrote down, or not in that version."""
    return {name for name, version in there.items() if written.get(name) != version} - OF_EVERY_ENVIRONMENT


def test_nothing_is_installed_that_nobody_wrote_down():
    assert unwritten(installed(), pins()) == set()
    assert pins().keys() <= installed().keys()


def test_control_a_stray_distribution_and_another_version_are_noticed():
    assert unwritten({"stray": "1.0", "django": "1.0", "pip": "1"}, pins()) == {"stray", "django"}


def test_what_is_installed_fits_together():
    done = subprocess.run([sys.executable, "-m", "pip", "check"], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout


def check_deploy(**changed) -> subprocess.CompletedProcess:
    kept = {name: value for name, value in os.environ.items() if name in ("PATH", "HOME", "LANG")}
    command = [sys.executable, "manage.py", "check", "--deploy", "--fail-level", "WARNING"]
    return subprocess.run(
        command, cwd=ROOT, env=kept | PRODUCTION | changed, capture_output=True, text=True, check=False
    )


def test_a_real_installation_s_settings_are_sound():
    done = check_deploy()
    assert done.returncode == 0, done.stderr


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"DEBUG": "1"}, "security.W018"),
        ({"SECRET_KEY": "short"}, "security.W009"),
        ({"SSL_REDIRECT": "0"}, "security.W008"),
    ],
)
def test_control_settings_that_are_not_sound_are_noticed(changed, said):
    done = check_deploy(**changed)
    assert done.returncode != 0
    assert said in done.stderr
