"""What holds for the whole tree: lint, types, layers, templates, and what README and DEVELOPERS claim."""

import pathlib
import re
import subprocess
import sys

import pytest

ROOT = pathlib.Path(__file__).parent.parent
BIN = pathlib.Path(sys.executable).parent

CHECKS = {
    "ruff finds nothing": ["ruff", "check", "--quiet", "."],
    "the code is formatted": ["ruff", "format", "--check", "--quiet", "."],
    "rules and statistics are typed": ["mypy", "--no-error-summary"],
    "imports go down the layers": ["lint-imports"],
    "templates are clean": ["djlint", "templates", "--lint", "--quiet"],
}


@pytest.mark.parametrize("command", CHECKS.values(), ids=[name.replace(" ", "-") for name in CHECKS])
def test_check(command):
    done = subprocess.run(
        [BIN / command[0], *command[1:]], cwd=ROOT, capture_output=True, text=True, timeout=300, check=False
    )
    assert done.returncode == 0, done.stdout + done.stderr


def test_no_migration_is_missing(db):
    from django.core.management import call_command

    call_command("makemigrations", check=True, dry_run=True, verbosity=0)


def tracked() -> list[str]:
    found = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=False)
    if found.returncode:
        pytest.skip("This is not a git checkout, so which files belong to the project is not known.")
    return found.stdout.split()


def test_the_top_level_is_the_agreed_one():
    top = {name.split("/")[0] for name in tracked()}
    visible = {name for name in top if not name.startswith(".")}
    agreed = {"README.md", "DEVELOPERS.md", "manage.py", "requirements.txt", "pyproject.toml"}
    assert visible <= agreed | {"labrecords", "templates", "static", "tests", "fixtures"}
    assert agreed <= visible


def test_no_file_of_ours_is_too_long():
    ours = [name for name in tracked() if name.endswith((".py", ".html", ".js", ".css"))]
    ours = [name for name in ours if "/vendor/" not in name and "migrations/0001" not in name]
    long = {name: n for name in ours if (n := len((ROOT / name).read_text().splitlines())) > 400}
    assert not long


def requirement_lines():
    for name in ("requirements.txt", "tests/requirements.txt"):
        for line in (ROOT / name).read_text().splitlines():
            if line and not line.startswith(("#", "-r")):
                yield name, line


def test_every_requirement_is_pinned_and_says_why():
    bare = [f"{name}: {line}" for name, line in requirement_lines() if "==" not in line]
    assert not bare
    reasons = {line.split("==")[0]: line for _, line in requirement_lines() if "#" in line}
    without = [line for _, line in requirement_lines() if line.split("==")[0] not in reasons]
    assert not without


def test_every_model_says_what_it_means():
    from django.apps import apps

    for model in apps.get_app_config("labrecords").get_models():
        written = model.__doc__ or ""
        assert not written.startswith(f"{model.__name__}("), f"{model.__name__} has no docstring of its own"


def test_no_signals_and_no_rules_in_odd_places():
    found = [
        name
        for name in tracked()
        if name.startswith("labrecords/")
        and name.endswith(".py")
        and re.search(r"django\.(db\.models|core)\.(signals|dispatch)|django\.dispatch", (ROOT / name).read_text())
    ]
    assert not found


def test_the_steps_in_developers_are_those_of_the_table():
    from labrecords.rules.study_states import STEPS

    text = (ROOT / "DEVELOPERS.md").read_text()
    shown = re.search(r"<!-- states -->\n```\n(.*?)```\n<!-- /states -->", text, re.DOTALL)[1]
    made = "".join(f"{state:<10} -> {to:<10} {step}\n" for state, steps in STEPS.items() for step, to in steps.items())
    assert shown == made
