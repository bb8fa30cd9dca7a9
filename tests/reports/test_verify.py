"""The verifier that goes with every report: quiet on what was released, and it names whatever was changed."""

import hashlib
import json
import math
import os
import pathlib
import re
import shutil
import subprocess
import sys
from decimal import Decimal
from statistics import NormalDist, mean, stdev
from unittest import mock

import pytest

from labrecords.actions import reports as releasing
from labrecords.actions import review, runs
from labrecords.models import Study
from labrecords.reports import verify_numbers
from labrecords.reports.findings import findings, findings_sha256
from labrecords.stats.normality import anderson_darling
from tests import world as lab
from tests.undone import never_committed
from tests.walls import rows

SETTINGS = [
    {"TZ": "UTC", "LC_ALL": "C"},
    {"TZ": "Asia/Kathmandu", "LC_ALL": "C.UTF-8"},
    {"TZ": "America/St_Johns", "LC_ALL": "de_DE.UTF-8", "LANG": "de_DE.UTF-8"},
    {"TZ": "Pacific/Chatham", "LC_ALL": "tr_TR.UTF-8", "PYTHONUTF8": "0"},
    {"TZ": "Europe/Dublin", "LC_ALL": "POSIX", "PYTHONHASHSEED": "7"},
]


@pytest.fixture(scope="module")
def files(django_db_setup, django_db_blocker, tmp_path_factory):
    """The files of a released report: two strips with traces, one in newton, one void of a limit's good side."""
    folder = tmp_path_factory.mktemp("report")
    with django_db_blocker.unblock(), never_committed():
        world = lab.build()
        for seed, strip in enumerate(world.specimens[:2], start=1):
            lab.enter(world, specimen=strip, typed="", unit="", trace=rows.trace_choice(world, seed=seed))
        lab.enter(world, specimen=world.specimens[2], typed="6.8", unit="N")
        lab.enter(world, specimen=world.specimens[3], typed="0.98")
        release(world, folder)
    return folder


def release(world, folder) -> None:
    """From the closed run to the files of the released report."""
    runs.close_run(run=world.run, by=world.runa, at=world.at)
    review.finish_testing(study=world.study, by=world.edda, at=world.at)
    study = Study.objects.get(pk=world.study.pk)
    seen = findings_sha256(findings(study))
    review.review(study=study, accept=True, words="Read.", seen_sha256=seen, by=world.sefa, at=world.at)
    made = releasing.release(study=study, seen_sha256=seen, password=lab.PASSWORD, by=world.signe, at=world.at)
    for file in made.files.all():
        (folder / file.name).write_bytes(bytes(file.content))


BOTH = [
    lab.LIMITS[0] | {"value": Decimal("1.20")},
    lab.LIMITS[0] | {"side": "upper", "value": Decimal("5"), "unit": "N/15mm"},
]
PAIRS = [lab.GROUPS[0] | {"packs": 9, "specimens_per_pack": 2}]
MANY = [lab.GROUPS[0] | {"packs": 30}]
SKEWED = [f"{1.2 + 0.5 * step**3 / 27000:.3f}" for step in range(30)]  # cubes: neither they nor their logs are normal
GROWING = [f"{1.2 * 1.03**step:.4f}" for step in range(18)]
PLANS = {
    "packs, both sides, shape tested": ("by a test of shape", PAIRS, BOTH, GROWING),
    "one each, both sides, normal": ("normal model", [lab.GROUPS[0] | {"packs": 18}], BOTH, GROWING),
    "order, one opened": (
        "order of the values",
        [lab.GROUPS[0] | {"packs": 45}],
        BOTH[:1],
        [None, *GROWING, *SKEWED[4:]],
    ),
    "shape tested, refused": ("by a test of shape", MANY, BOTH[:1], SKEWED),
}
SAID = {
    "packs, both sides, shape tested": "packs, each by its weakest strip",
    "one each, both sides, normal": "normal model, 18 values",
    "order, one opened": "from the order of the values",
    "shape tested, refused": "Anderson-Darling",
}


@pytest.mark.parametrize("name", PLANS)
def test_every_kind_of_bound_is_computed_again(django_db_setup, django_db_blocker, tmp_path, name):
    rule, groups, limits, values = PLANS[name]
    study = lab.STUDY | {"bound_rule": rule, "coverage": Decimal("0.90"), "confidence": Decimal("0.90")}
    changed = (mock.patch.object(lab, "STUDY", study), mock.patch.object(lab, "GROUPS", groups))
    with (
        django_db_blocker.unblock(),
        never_committed(),
        changed[0],
        changed[1],
        mock.patch.object(lab, "LIMITS", limits),
    ):
        world = lab.build()
        for strip, value in zip(world.specimens, values, strict=True):
            told = {"typed": "", "unit": "", "opened": True} if value is None else {"typed": value}
            lab.enter(world, specimen=strip, confirmed=("unusual-value",), **told)
        release(world, tmp_path)
    code, said = verify(tmp_path)
    assert code == 0, said
    content = json.loads((tmp_path / "content.json").read_text(encoding="utf-8"))
    group = content["groups"][0]
    assert SAID[name] in group["bound"] + group["note"]
    for part in ("bound", "below_limit", "interval"):
        if not re.search(r"\d", group[part] or ""):
            continue
        wrong = json.loads(json.dumps(content))
        wrong["groups"][0][part] = re.sub(r"(\d)(?= |$|,)", lambda m: str((int(m[1]) + 1) % 10), group[part], count=1)
        if part == "interval":
            wrong["groups"][0][part] = re.sub(r"(\d)$", lambda m: str((int(m[1]) + 1) % 10), group[part])
        hashed_anew(tmp_path, wrong)
        listed_anew(tmp_path)
        code, said = verify(tmp_path)
        assert code == 1, (part, wrong["groups"][0][part])
        assert "WRONG: L1, as made, side: its " in said


# Tolerance factors for 95 % coverage: NIST/SEMATECH e-Handbook of Statistical Methods, 7.2.6.3, worked example (43
# values, coverage 0.90, confidence 0.99: 1.8752) and Table A.7 of Natrella, Handbook 91, from memory (2.911, 1.927).
@pytest.mark.parametrize(
    ("n", "coverage", "confidence", "factor", "digits"),
    [(43, 0.90, 0.99, 1.8740, 4), (10, 0.95, 0.95, 2.911, 3), (100, 0.95, 0.95, 1.927, 3), (3, 0.95, 0.95, 7.656, 3)],
)
def test_factors_of_the_verifier_are_those_of_the_handbooks(n, coverage, confidence, factor, digits):
    shift = NormalDist().inv_cdf(coverage) * math.sqrt(n)
    assert round(verify_numbers.student(confidence, n - 1, shift) / math.sqrt(n), digits) == factor


# Quantiles of Student's t: NIST/SEMATECH e-Handbook, 1.3.6.7.2.
@pytest.mark.parametrize(("df", "t"), [(1, 12.706), (2, 4.303), (9, 2.262), (30, 2.042), (100, 1.984)])
def test_student_of_the_verifier_is_that_of_the_table(df, t):
    assert round(verify_numbers.student(0.975, df), 3) == t


def test_anderson_darling_of_the_verifier_is_that_of_scipy():
    values = sorted([1.42, 1.51, 1.38, 1.47, 1.55, 1.44, 1.49, 1.46, 1.62, 1.21])
    scaled = [(value - mean(values)) / stdev(values) for value in values]
    assert verify_numbers.anderson_darling(scaled) == pytest.approx(anderson_darling(values).p_value, rel=1e-10)


def verify(folder: pathlib.Path, **settings) -> tuple[int, str]:
    """Run the report's own verifier as a stranger would: isolated, without any package."""
    environment = {name: value for name, value in os.environ.items() if name in ("PATH", "HOME")} | settings
    done = subprocess.run(
        [sys.executable, "-I", "-S", str(folder / "verify.py"), str(folder)],
        capture_output=True,
        text=True,
        env=environment,
        check=False,
    )
    return done.returncode, done.stdout + done.stderr


def test_nothing_is_wrong_with_what_was_released_wherever_it_is_checked(files):
    answers = {verify(files, **settings) for settings in SETTINGS}
    ((code, said),) = answers  # the same in every place and language
    assert code == 0, said
    assert "traces: 2 checked, 0 wrong" in said
    assert "values: 4 checked, 0 wrong" in said
    assert "numbers of the groups: 9 checked, 0 wrong" in said
    assert "numbers in the answer: 2 checked, 0 wrong" in said
    assert said.rstrip().endswith("Nothing is wrong.")


def test_the_verifier_is_short_and_needs_nothing_of_ours(files):
    for name in ("verify.py", "verify_numbers.py"):
        text = (files / name).read_text()
        assert len(text.splitlines()) < 300
        assert "labrecords" not in text
        digest = hashlib.sha256(text.encode()).hexdigest()
        assert f"{digest}  {name}" in (files / "manifest.txt").read_text()


@pytest.fixture
def copy(files, tmp_path):
    return shutil.copytree(files, tmp_path / "copy")


def listed_anew(folder: pathlib.Path) -> None:
    """The manifest made again, as somebody who hides a change would."""
    names = [line.split("  ")[1] for line in (folder / "manifest.txt").read_text().splitlines()]
    lines = [f"{hashlib.sha256((folder / name).read_bytes()).hexdigest()}  {name}\n" for name in names]
    (folder / "manifest.txt").write_text("".join(lines))


def hashed_anew(folder: pathlib.Path, content: dict) -> None:
    """The content with its hash made again."""
    content.pop("content_sha256")
    text = json.dumps(content, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    content["content_sha256"] = hashlib.sha256(text.encode()).hexdigest()
    written = json.dumps(content, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    (folder / "content.json").write_text(written, encoding="utf-8")


def test_a_changed_and_a_missing_file_are_named(copy):
    file = copy / "report.pdf"
    file.write_bytes(file.read_bytes()[:-1] + b"x")
    (copy / "README.txt").unlink()
    code, said = verify(copy)
    assert code == 1
    assert "WRONG: report.pdf is not the file that the manifest names" in said
    assert "WRONG: README.txt is missing" in said


def test_a_changed_content_is_found_though_the_manifest_was_made_anew(copy):
    content = json.loads((copy / "content.json").read_text(encoding="utf-8"))
    content["purpose"] = "another"
    (copy / "content.json").write_text(json.dumps(content), encoding="utf-8")
    listed_anew(copy)
    code, said = verify(copy)
    assert code == 1
    assert "WRONG: the content is not the one of hash" in said


@pytest.mark.parametrize("part", ["n", "mean", "sd", "minimum", "maximum", "cv"])
def test_a_number_of_a_group_that_does_not_follow_is_named_though_all_hashes_were_made_anew(copy, part):
    content = json.loads((copy / "content.json").read_text(encoding="utf-8"))
    shown = content["groups"][0][part]
    content["groups"][0][part] = ("9" if shown[0] != "9" else "8") + shown[1:]
    hashed_anew(copy, content)
    listed_anew(copy)
    code, said = verify(copy)
    assert code == 1
    assert f"WRONG: L1, as made, side: its {part} is" in said


def test_a_printed_value_that_does_not_follow_is_named(copy):
    content = json.loads((copy / "content.json").read_text(encoding="utf-8"))
    row = content["results"][3]
    assert row["maximum"] == "0.98"
    row["maximum"] = "1.08"
    hashed_anew(copy, content)
    listed_anew(copy)
    code, said = verify(copy)
    assert code == 1
    assert f"WRONG: {row['specimen']}: 0.980000000 is printed as 1.08" in said


def test_a_changed_row_of_results_is_named(copy):
    text = (copy / "results.csv").read_text(encoding="utf-8")
    assert "0.980000000" in text
    (copy / "results.csv").write_text(text.replace("0.980000000", "1.080000000"), encoding="utf-8", newline="")
    listed_anew(copy)
    code, said = verify(copy)
    assert code == 1
    assert "0.98 lbf/in is 0.98 lbf/in, not 1.080000000" in said
    assert "its minimum is 1.08" in said


def test_a_changed_point_of_a_trace_is_named(copy):
    rows_ = (copy / "traces.csv").read_text().splitlines()
    header, points = rows_[0], [row.split(",") for row in rows_[1:]]
    peak = max(range(len(points)), key=lambda place: float(points[place][3]))
    points[peak][3] = repr(float(points[peak][3]) * 1.05)
    (copy / "traces.csv").write_text("\n".join([header, *(",".join(row) for row in points)]) + "\n")
    listed_anew(copy)
    code, said = verify(copy)
    assert code == 1
    assert f"WRONG: {points[peak][0]}: its trace's maximum is" in said
    assert f"WRONG: {points[peak][0]}: its trace's average is not" in said
