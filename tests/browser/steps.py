"""Steps that several walks take: a study planned and locked, its lot received and cut, a run opened."""

import contextlib
import os
import pathlib
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass, replace

from playwright.sync_api import expect

from tests.browser.house import ROOT, House

SETUP = {
    "Seal width": "10",
    "Web in the fixed grip or on the plate": "film",
    "Web in the moving grip": "coated paper",
    "Weakest force expected": "4",
    "Strongest force expected": "14",
}
QUESTION = {
    "Purpose": "Whether the second supplier's web may be used.",
    "Why this many packs and specimens": "One strip a pack, agreed with the client.",
    "Decision rule chosen by": "the client, in the order",
}
RECEIPT = {
    "What it is": "pouch 120 × 200 mm, empty",
    "Condition on receipt": "One carton, sound.",
    "How the seals were made": "not known: the client was asked",
    "Who drew the sample": "the client, in sequence",
    "When the sample was drawn": "the same morning",
    "Where it is kept": "goods in",
}


@dataclass(frozen=True)
class Spare:
    """A study of the walks' own, in testing: its code and its specimens, dealt out so that no walk takes another's."""

    code: str
    lot: str
    specimens: list[str]
    run: str = ""
    file: str = ""
    deviation: str = ""
    nonconformity: str = ""
    calibration: str = ""
    waiting: str = ""
    labels: str = ""

    @property
    def held(self) -> str:
        """The specimen whose result waits for a decision."""
        return self.specimens[0]

    @property
    def typed(self) -> str:
        """The specimen for the results typed with the mouse."""
        return self.specimens[-1]

    @property
    def in_a_file(self) -> str:
        """The specimen whose trace comes in a file by keyboard. The page itself offers those before it."""
        return self.specimens[-2]


def fill(place, answers: dict[str, str]) -> None:
    """Type into fields by the beginning of their labels."""
    for label, text in answers.items():
        place.get_by_label(label).first.fill(text)


def choose(place, label: str, words: str) -> None:
    """Choose the first entry of a list that holds the words."""
    field = place.get_by_label(label, exact=False).first
    options = field.locator("option").all_text_contents()
    field.select_option(label=next(option for option in options if words in option))


def plan(page, house: House, *, title: str, packs: int) -> str:
    """Plan and lock a study in the client's usual set-up, without conditioning; its code."""
    page.goto(f"{house.url}/studies/new/")
    choose(page, "Project", "Quillwort")
    page.get_by_label("Method version").select_option(index=1)
    fill(page, {"Title": title} | QUESTION | SETUP)
    choose(page, "Who agrees to the protocol", "nobody else")
    fill(page, {"Why nobody else is asked": "A trial of our own."})
    fill(page, {"Conditioning": "0", "Reason for less conditioning": "Tested within the hour of sealing, on purpose."})
    group = page.get_by_role("group", name="Group 1")
    fill(group, {"Lot": "Z1", "Arm": "as made", "Seal position": "left side"})
    group.get_by_label("Packs").fill(str(packs))
    group.get_by_label("Specimens a pack").fill("1")
    page.get_by_role("button", name="Keep as a draft").click()
    page.get_by_role("button", name="Lock the set-up").click()
    page.get_by_text("Its set-up mark is").wait_for()
    return page.url.rstrip("/").rsplit("/", 1)[1]


def receive(page, house: House, code: str) -> Spare:
    """Receive the study's lot and cut it: every specimen has its label."""
    page.goto(f"{house.url}/studies/{code}/receive/")
    choose(page, "Lot of the plan", "Z1")
    fill(page, RECEIPT)
    page.get_by_role("button", name="Receive the lot").click()
    page.get_by_label("Where they are cut").fill("cutting table")
    page.get_by_role("button", name="Cut and label").click()
    page.get_by_text("are labelled").wait_for()
    lot = page.url.rstrip("/").rsplit("/", 1)[1]
    return Spare(code, lot, page.get_by_role("link", name="SP-").all_inner_texts())


def open_run(page, house: House, code: str, *, cell: str = "10 lbf", room: str = "23") -> None:
    """Ask for a run on bench tester 1, with this cell and in a room of this temperature."""
    page.goto(f"{house.url}/studies/{code}/open-run/")
    ask_for_a_run(page, cell=cell, room=room)


def ask_for_a_run(page, *, cell: str, room: str = "23") -> None:
    """Fill and send the form of a run that is already on the screen."""
    choose(page, "Tester", "Bench tester 1")
    choose(page, "Load cell", cell)
    fill(page, {"Room temperature": room, "Room humidity": "50"})
    page.get_by_role("button", name="Open the run").click()


def take_in_hand(page, specimen: str) -> None:
    """Type a specimen's code at a bench that is ready: it puts the focus where it belongs when it has loaded."""
    expect(page.locator("input[name=typed]")).to_be_focused()
    page.locator("input[name=specimen]").fill(specimen)


def hold_a_result(page, house: House, spare: Spare) -> None:
    """One result in a room too cold: it is kept, and held for a decision."""
    open_run(page, house, spare.code, room="20")
    take_in_hand(page, spare.held)
    page.get_by_label("Maximum").first.fill("1.47")
    page.get_by_role("button", name="AP: adhesive peel").click()
    page.get_by_text("somebody else decides").wait_for()


def trace_file(house: House, specimen: str) -> dict:
    """A file of the tester for another specimen: one of those that lie on disk, under another label."""
    like = next(path for path in sorted(house.traces.iterdir()) if path.name.startswith("SP-"))
    text = like.read_text().replace(like.stem, specimen)
    return {"name": f"{specimen}.csv", "mimeType": "text/csv", "buffer": text.encode()}


@contextlib.contextmanager
def watching(house: House, who: str) -> Iterator[pathlib.Path]:
    """A watched folder of the house, for as long as the block lasts."""
    folder = house.home / "from-the-tester"
    folder.mkdir(exist_ok=True)
    environment = {name: value for name, value in os.environ.items() if not name.endswith("DATABASE_URL")}
    environment |= {"LABRECORDS_HOME": str(house.home), "DJANGO_SETTINGS_MODULE": "labrecords.settings"}
    command = [sys.executable, "manage.py", "watch_traces", str(folder), "--as", who, "--settled", "0.2"]
    printed = house.home / "watching.txt"
    with printed.open("w") as out, subprocess.Popen(command, cwd=ROOT, env=environment, stdout=out, stderr=out) as run:
        try:
            yield folder
        finally:
            run.terminate()
    assert run.returncode == 0, printed.read_text()


def drop_unnamed(house: House, folder: pathlib.Path, name: str) -> None:
    """A tester writes a file that names no specimen of ours."""
    like = next(path for path in sorted(house.traces.iterdir()) if path.name.startswith("SP-"))
    text = like.read_text().replace(like.stem, "trial pull")
    (folder / name).write_text(f"# {name}\n{text.rstrip()}\n")


def of_the_bench(page, house: House, spare: Spare) -> dict[str, str]:
    """A file in the tray, and labels that were printed."""
    with watching(house, "tilly") as folder:
        drop_unnamed(house, folder, "unnamed.csv")
        page.goto(f"{house.url}/bench/")
        link = page.get_by_role("link", name="unnamed.csv: say whose it is")
        link.wait_for(timeout=60_000)
        waiting = link.get_attribute("href").rstrip("/").rsplit("/", 1)[1]
    page.goto(f"{house.url}/lots/{spare.lot}/labels/")
    page.get_by_label("Specimens").check()
    page.get_by_role("button", name="Print the labels").click()
    page.get_by_role("link", name="Take the PDF").wait_for()
    return {"waiting": waiting, "labels": page.url.rstrip("/").rsplit("/", 1)[1]}


def spare(house: House, visit) -> Spare:
    """A study in testing, made through the pages: with a run, a file waiting for its match, and a held result.

    `visit` gives a page of somebody who has signed in, and what is complained of on it.
    """
    engineer, _ = visit("edmund")
    code = plan(engineer, house, title="Side seals within the hour", packs=9)
    page, complaints = visit("bram")
    made = receive(page, house, code)
    hold_a_result(page, house, made)
    run = page.url.rstrip("/").rsplit("/", 1)[1]
    page.locator("input[name=files]").set_input_files(trace_file(house, made.held))
    page.get_by_role("button", name="Take the files").click()
    page.get_by_role("heading", name="Whose curve is whose").wait_for()
    file = page.url.rstrip("/").rsplit("/", 1)[1]
    engineer.goto(f"{house.url}/reviews/")
    held = engineer.get_by_role("link", name=f"Decide the deviation of {made.held}").get_attribute("href")
    engineer.goto(f"{house.url}/nonconforming/")
    nonconformity = engineer.get_by_role("link", name="NC-").first.inner_text()
    engineer.get_by_role("link", name=nonconformity).click()
    looked = engineer.get_by_role("link", name="the look-back").get_attribute("href")
    there = of_the_bench(page, house, made)
    engineer.context.close()
    page.context.close()
    assert complaints == []
    return replace(
        made,
        run=run,
        file=file,
        deviation=held.rstrip("/").rsplit("/", 1)[1],
        nonconformity=nonconformity,
        calibration=looked.rstrip("/").rsplit("/", 2)[1],
        **there,
    )
