"""Labels that were printed are read back from the PDF as an image, by a reader that is not ours (ZXing)."""

import json
import subprocess
from collections import Counter

import pytest
import zxingcpp
from django.urls import reverse
from PIL import Image

from labrecords.actions import labels as actions
from labrecords.models import Event, LabelPrint
from labrecords.queries import labels
from labrecords.queries.access import NotAllowed
from labrecords.reports import label_sheets
from labrecords.rules.label_sheet import SHEETS, SheetProblem, sheet, start
from labrecords.rules.labels import label, parse

DPI = 200
FACES = [
    labels.Face(
        code, parse(code).encoded, ("S-2026-0004", f"lot L-{number} of a rather long name, pack {number}", "side")
    )
    for number in range(1, 70)
    for code in [label("SP", 1000 + number)]
]


def images(content, folder):
    """The pages as pictures, by another program."""
    (folder / "labels.pdf").write_bytes(content)
    command = ["pdftoppm", "-r", str(DPI), "-png", folder / "labels.pdf", folder / "page"]
    subprocess.run(command, check=True, capture_output=True)
    pages = []
    for path in sorted(folder.glob("page-*.png")):
        with Image.open(path) as image:
            pages.append(image.convert("L"))
    return pages


def read(image):
    """What a reader makes of a page: each code with the middle of its picture, in mm."""
    found = zxingcpp.read_barcodes(image, formats=zxingcpp.BarcodeFormat.QRCode)
    return {one.text: _middle_mm(one.position) for one in found}


def _middle_mm(corners):
    points = [corners.top_left, corners.top_right, corners.bottom_left, corners.bottom_right]
    return tuple(sum(getattr(point, axis) for point in points) / 4 / DPI * 25.4 for axis in "xy")


@pytest.mark.parametrize("name", SHEETS)
def test_every_code_is_read_back_from_its_own_label(name, tmp_path):
    on, left_empty = SHEETS[name], 3 if SHEETS[name].count > 3 else 0
    faces = FACES if on.count > 1 else FACES[:3]
    pages = images(label_sheets.pdf(faces, on, left_empty=left_empty, title="t"), tmp_path)
    found = [read(page) for page in pages]
    assert Counter(code for page in found for code in page) == Counter(face.encoded for face in faces)
    width, height = on.label
    for number, face in enumerate(faces, start=left_empty):
        page, left, top = on.place(number)
        x, y = found[page][face.encoded]
        assert left < x < left + width
        assert top < y < top + height


def test_people_read_hyphens_check_character_lot_and_position(tmp_path):
    (tmp_path / "labels.pdf").write_bytes(label_sheets.pdf(FACES[:1], SHEETS["single-large"], left_empty=0, title="t"))
    text = subprocess.run(
        ["pdftotext", tmp_path / "labels.pdf", "-"], capture_output=True, text=True, check=True
    ).stdout
    printed = " ".join(text.replace("\u2011", "-").split())
    assert FACES[0].code in printed
    assert FACES[0].lines[1] in printed
    assert "side" in printed
    assert FACES[0].encoded not in printed


def test_control_a_soiled_code_is_not_read_as_another(tmp_path):
    [page] = images(label_sheets.pdf(FACES[:1], SHEETS["single"], left_empty=0, title="t"), tmp_path)
    page.paste(255, (0, 0, page.width // 4, page.height))
    assert read(page) == {}


@pytest.fixture
def world(laboratory):
    return laboratory


def lot_of(world):
    return world.specimens[0].pack.lot


def printed(world, **changed):
    given = {
        "codes": labels.of_lot(lot_of(world), ("packs", "specimens")),
        "sheet": "a4-3x8",
        "margins": {},
        "first": 1,
    }
    return actions.print_labels(**{"lot": lot_of(world), "by": world.runa, "at": world.at, **given, **changed})


def test_a_print_is_an_event_and_reprints_are_counted(world):
    one = world.specimens[0].label
    printed(world)
    kept = printed(world, codes=[one])
    event = Event.objects.filter(act="labels.printed").order_by("id").last()
    told = json.loads(event.body)["after"]
    assert told["codes"] == [one]
    assert told["printed before"] == {one: "1"}
    assert labels.times_printed([one, world.specimens[1].label]) == {one: 2, world.specimens[1].label: 1}
    assert kept.codes == [one]


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"codes": []}, "no label to print"),
        ({"codes": ["SP-000001-A"] * 1001}, "At most 1000"),
        ({"first": 25}, "labels 1 to 24"),
        ({"margins": {"side": 90.0}}, "Make the margins smaller"),
    ],
)
def test_what_cannot_be_printed_is_refused_and_nothing_is_kept(world, changed, said):
    with pytest.raises(SheetProblem, match=said):
        printed(world, **changed)
    assert not LabelPrint.objects.exists()


def test_who_may_not_receive_samples_prints_none(world):
    with pytest.raises(NotAllowed):
        printed(world, by=world.signe)
    with pytest.raises(NotAllowed):
        printed(world, lot=None, codes=[world.cell.label], by=world.runa)


FORM = {"what": ["specimens", "packs"], "which": "new", "only": "", "sheet": "a4-5x13", "first": "4"}


def test_the_page_prints_the_sheets_that_were_asked_for(client, world, tmp_path):
    client.force_login(world.runa)
    where = reverse("print-lot-labels", args=[lot_of(world).label])
    answer = client.post(where, FORM)
    assert answer.status_code == 302
    page = client.get(answer.url)
    assert page.content.decode().count("1 time") == 8
    content = client.get(f"{answer.url}labels.pdf").content
    [picture] = images(content, tmp_path)
    wanted = labels.of_lot(lot_of(world), ("packs", "specimens"))
    assert set(read(picture)) == {parse(code).encoded for code in wanted}
    laid = sheet("a4-5x13", {})
    assert start(laid, 4) == 3
    again = client.post(where, FORM)
    assert again.status_code == 422
    assert "There is no label to print" in again.content.decode()
    reprint = client.post(where, FORM | {"only": wanted[0].lower()}, follow=True).content.decode()
    assert "Printed before" in reprint
    assert "2 times" in reprint


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"first": "70"}, "labels 1 to 65"),
        ({"top": "140"}, "Make the margins smaller"),
        ({"only": "TS-000001-0"}, "Not among these labels: TS-000001-0."),
        ({"only": "nonsense"}, "There is no label code in this."),
        ({"what": []}, "Choose packs, specimens or both."),
        ({"side": "wide"}, "wide"),
    ],
)
def test_what_was_typed_is_still_there_when_it_is_refused(client, world, changed, said):
    client.force_login(world.runa)
    answer = client.post(reverse("print-lot-labels", args=[lot_of(world).label]), FORM | changed)
    text = answer.content.decode()
    assert answer.status_code == 422
    assert said in text
    assert 'value="4"' in text or 'value="70"' in text
    assert not LabelPrint.objects.exists()


def test_void_specimens_get_no_label(client, world):
    from labrecords.actions import voids

    aside = world.specimens[0]
    voids.void(specimen=aside, cause="cut", words="Nicked edge.", by=world.runa, at=world.at)
    assert aside.label not in labels.of_lot(lot_of(world), ("specimens",))


def test_equipment_has_labels_too(client, world):
    client.force_login(world.magnus)
    where = reverse("print-equipment-labels")
    assert world.cell.label in client.get(f"{where}?only={world.cell.label}").content.decode()
    answer = client.post(where, FORM | {"only": world.cell.label, "sheet": "single", "first": "1"})
    assert client.get(f"{answer.url}labels.pdf").content.startswith(b"%PDF")
    assert LabelPrint.objects.get().codes == [world.cell.label]
