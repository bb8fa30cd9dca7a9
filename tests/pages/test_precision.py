"""Published studies of precision, entered as technicians' results: their answers are read off page and interface."""

import re
from datetime import timedelta
from decimal import Decimal

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from labrecords.actions import people
from labrecords.models import Equipment, Specimen
from tests import loaded
from tests import world as cast
from tests.reference import tables
from tests.windows.cast import group

# ASTM E691-99 table 1 as NIST's public file GLUCOSE.DAT keeps it: glucose in serum, 8 laboratories, 3 replicates. Here
# a laboratory is a technician and mg/dl are gf/in: arithmetic does not ask. Answers computed from the table by the
# standard's formulas; those of A, B, D and E agree with its printed summary, and C with 138.30 does too (from memory).
GLUCOSE = tables.rows("glucose.csv")[1:]
ANSWERS = {  # mean, s of the means, s_r, s_R, r, R
    "A": (41.5183, 0.6061, 1.0632, 1.0632, 2.98, 2.98),  # between laboratories nothing: s_R is s_r, and no less
    "B": (79.6796, 1.0028, 1.4949, 1.5796, 4.19, 4.42),
    "C": (135.1429, 2.6559, 2.7483, 3.4770, 7.70, 9.74),  # as in the data file, with its keying error 148.30
    "D": (194.7171, 2.5950, 2.6251, 3.3657, 7.35, 9.42),
    "E": (294.4921, 2.6931, 3.9350, 4.1923, 11.02, 11.74),
}
# AIAG (2010), Measurement Systems Analysis, 4th ed., worked example of 10 parts, 3 appraisers and 3 trials, from
# memory: standard deviations of repeatability, appraisers, gauge, parts and all together; per cent; categories. Five is
# added to each value, since a strength is above 0: no variance changes.
MANUAL = (0.199933, 0.226838, 0.302373, 1.042327, 1.085)

SENSITIVE = {"verified_low_n": 0.02, "noise_n": 0.0001}


@pytest.fixture
def world(laboratory):
    return laboratory


def technicians(world, names):
    made = []
    for place, name in enumerate(names):
        person = people.add_person(
            username=f"tech{place}",
            name=name,
            password=cast.PASSWORD,
            roles={"technician"},
            by=world.magnus,
            at=world.at - timedelta(days=20),
        )
        cast.authorise(person, world.method, by=world.magnus, at=world.at - timedelta(days=20))
        made.append(person)
    return made


def study_of(world, values, *, unit="gf/in", decimals=2, cell=None, weak_n=0.4, strips_a_pack=1):
    """A study of these values by (material, technician); the strips of a material go to the technicians in turn."""
    materials = list(dict.fromkeys(material for material, _ in values))
    names = list(dict.fromkeys(name for _, name in values))
    count = {material: sum(len(row) for (of, _), row in values.items() if of == material) for material in materials}
    setup = {"unit": unit, "decimals": decimals, "expected_weak_n": weak_n}
    groups = [
        group(material, count[material] // strips_a_pack, specimens_per_pack=strips_a_pack) for material in materials
    ]
    study = loaded.planned(world, groups, setup=setup)
    loaded.received(world, study, materials)
    cell = cell or cast.add_equipment(
        world.people,
        Equipment.CELL,
        "Cell 20 N",
        50.0,
        world.at - timedelta(days=20),
        verified_low_n=0.02,
        noise_n=0.0001,
    )
    strips = {material: list(_strips(study, material)) for material in materials}
    for name, person in zip(names, technicians(world, names), strict=True):
        run = cast.open_run(world, study=study, cell=cell, person=person, by=person)
        for material in materials:
            for value in values.get((material, name), ()):
                strip = strips[material].pop(0)
                people_ = {"tested_by": person, "entered_by": person}
                cast.enter(world, specimen=strip, run=run, typed=value, unit=unit, **people_)
    return study


def _strips(study, material):
    return Specimen.objects.filter(study=study, pack__lot__name=material).order_by("label")


def glucose(material, **changed):
    first = 1 + 3 * "ABCDE".index(material)
    return {(material, f"Laboratory {row[0]}"): [changed.get(v, v) for v in row[first : first + 3]] for row in GLUCOSE}


def page(client, world, study) -> str:
    client.force_login(world.edda)
    answer = client.get(reverse("precision", args=[study.code]))
    assert answer.status_code == 200
    return re.sub(r"\s+", " ", answer.content.decode())


def interface(world, study):
    token = people.give_token(person=world.edda, label="own", by=world.magnus, at=world.at)
    return Client(headers={"Authorization": f"Token {token}"}).get(f"/api/studies/{study.code}/precision/").json()


def of_serum():
    world = cast.build()
    return world, study_of(world, {key: row for material in "ABCDE" for key, row in glucose(material).items()})


@pytest.fixture
def serum(built):
    """The laboratory and a study of the whole table."""
    with built.standing(of_serum) as both:
        yield both


def test_e691_s_glucose_is_read_off_the_page(client, serum):
    text = page(client, *serum)
    for material, (mean, _, s_r, s_reproducibility, r, limit) in ANSWERS.items():
        section = text[text.index(f">{material}, as made, side</h2>") :].split("</section>")[0]
        assert f"<dd>{mean:.4f}</dd>" in section
        assert f"<dd>{s_r:.4f}, limit {_near(r)}" in _rounded(section)
        assert f"<dd>{s_reproducibility:.4f}, limit {_near(limit)}" in _rounded(section)
    assert "Laboratory 4 scatters more than the others (k beyond 2.06)" in text
    assert "Laboratory 2 scatters more than the others (k beyond 2.06)" in text
    assert "Cochran's C 0.7253, above 0.516" in text.replace("&#x27;", "'")


def _near(value) -> str:
    return f"{value:.2f}"


def _rounded(section) -> str:
    return re.sub(r"limit (\d+\.\d+)", lambda found: f"limit {Decimal(found[1]).quantize(Decimal('0.01'))}", section)


def test_the_interface_gives_every_digit_of_it(serum):
    found = interface(*serum)
    for row in found["materials"]:
        mean, means_sd, s_r, s_reproducibility, r, limit = ANSWERS[row["label"][0]]
        told = row["precision"]
        assert told["mean"] == pytest.approx(mean, abs=6e-5)
        assert told["means_sd"] == pytest.approx(means_sd, abs=6e-5)
        assert told["repeatability_sd"] == pytest.approx(s_r, abs=6e-5)
        assert told["intermediate_sd"] == pytest.approx(s_reproducibility, abs=6e-5)
        assert (told["repeatability_limit"], told["intermediate_limit"]) == pytest.approx((r, limit), abs=6e-3)
        assert (told["h_critical"], told["k_critical"]) == pytest.approx((2.15, 2.06), abs=6e-3)
    serum_c = found["materials"][2]["precision"]
    assert [round(serum_c["h"][3], 2), round(serum_c["k"][3], 2)] == [2.14, 2.41]
    assert (serum_c["h_beyond"], serum_c["k_beyond"]) == ([], [3])


def test_with_the_keying_error_mended_the_standard_s_final_numbers_come_out(client, world):
    study = study_of(world, glucose("C", **{"148.30": "138.30"}))
    (row,) = interface(world, study)["materials"]
    told = row["precision"]
    assert (told["mean"], told["means_sd"], told["repeatability_sd"], told["intermediate_sd"]) == pytest.approx(
        (134.7262, 1.7397, 1.5434, 2.1482), abs=6e-5
    )
    assert "No technician stands out" in page(client, world, study)


def appraisers():
    values = {}
    for name, operator, part, value in tables.rows("gauge_studies.csv")[1:]:
        if name == "aiag":
            values.setdefault((f"part {part}", f"Appraiser {operator}"), []).append(f"{Decimal(value) + 5}")
    return values


def test_the_gauge_handbook_s_crossed_example_is_read_off_the_page(client, world):
    study = study_of(world, appraisers(), unit="lbf/in", cell=world.cell, weak_n=4.0)
    text = page(client, world, study)
    labels = (
        "Repeatability, strips of one part by one technician",
        "Between technicians",
        "Technicians and repeatability together",
        "Between parts",
        "All together",
    )
    for label, expected in zip(labels, MANUAL, strict=True):
        read = re.search(rf'<th scope="row">{label}</th> <td[^>]*>[^<]*</td> <td[^>]*>([^<]*)</td>', text)
        assert float(read[1]) == pytest.approx(expected, abs=6e-5 if label != "All together" else 5e-4)
    assert "27.86 % of the study" in text
    assert "distinct categories 4" in text
    assert "It is so small that it is counted as repeatability here." in text


def nested(name, plus=0):
    """Values by (lot, operator), the parts of an operator one after the other."""
    values = {}
    for study, operator, _, value in tables.rows("gauge_studies.csv")[1:]:
        if study == name:
            values.setdefault(("L", operator), []).append(f"{Decimal(value) + plus}")
    return values


# A published textbook's spindles nested in machines (4 a cell), and the NIST/SEMATECH e-Handbook 3.2.3.3's operators
# nested in machines (5 a cell): variances of machines, of what is nested in them, and within, from memory. A machine is
# a technician here, and a spindle or operator one of the technician's packs. The handbook's middle one is negative,
# -9.86e-7, and shown as none. What is added to the values changes no variance.
NESTED = {"spindles": (1.6615, 3.2778, 1.4722), "handbook": (7.211e-6, 0.0, 8.650e-6)}


@pytest.mark.parametrize("name", NESTED)
def test_the_nested_examples_are_read_off_the_interface_and_the_page(client, world, name):
    if name == "spindles":
        study = study_of(world, nested(name, plus=100), strips_a_pack=4)
    else:
        more = {"unit": "lbf/in", "cell": world.cell, "weak_n": 4.0}
        study = study_of(world, nested(name, plus=1), decimals=3, strips_a_pack=5, **more)
    found = interface(world, study)["nested"]
    told = (found["between_technicians"], found["between_parts"], found["repeatability"])
    assert told == pytest.approx(NESTED[name], rel=2e-4, abs=1e-12)
    text = page(client, world, study)
    section = text[text.index("Every technician on packs of their own") :]
    for label, variance in zip(("Between technicians", "Between parts"), NESTED[name], strict=False):
        read = re.search(rf'<th scope="row">{label}</th> <td[^>]*>([^<]*)</td>', section)
        assert float(read[1]) == pytest.approx(variance, rel=2e-4, abs=1e-12)


def test_one_technician_two_and_nobody_get_a_sentence(client, world):
    values = {("L", "Ann"): ["150", "152", "149"]}
    text = page(client, world, study_of(world, values))
    assert "Only one technician pulled strips of it" in text
    assert "These data do not allow it" in text
    assert "No result of this study counts yet" in page(client, world, world.study)


@pytest.mark.parametrize(
    ("values", "said"),
    [
        ({"Ann": ["150", "151"], "Bo": ["150", "152"]}, "Only two technicians pulled"),
        (
            {"Ann": ["150", "151"], "Bo": ["150", "152"], "Cy": ["150"]},
            "different numbers of strips of it: Ann 2",
        ),
        ({"Ann": ["150", "150"], "Bo": ["150", "150"], "Cy": ["150", "150"]}, "The numbers do not allow it"),
    ],
)
def test_data_that_do_not_allow_it_get_a_sentence(client, world, values, said):
    study = study_of(world, {("L", name): row for name, row in values.items()})
    assert said in page(client, world, study)


def test_a_design_with_a_hole_has_no_components(client, world):
    values = {("L1", "Ann"): ["150", "152"], ("L1", "Bo"): ["151", "153"], ("L2", "Ann"): ["160", "161"]}
    text = page(client, world, study_of(world, values))
    assert "Not every technician pulled strips of every material: Bo none of L2, as made, side." in text
    assert "Technician by material" not in text


def test_the_number_of_queries_does_not_grow_with_the_results(client, serum):
    world, study = serum
    page(client, world, study)
    counts = []
    for of in (study, world.study):
        with CaptureQueriesContext(connection) as caught:
            page(client, world, of)
        counts.append(len(caught))
    assert counts[0] == counts[1]
