"""Makes README's pictures from the demo: `python -m tests.browser.pictures`."""

import pathlib

from playwright.sync_api import Page, sync_playwright

from tests.browser.house import CHROMIUM, FLAGS, House, running, sign_in

FOLDER = pathlib.Path(__file__).parent / "pictures"
WIDTH = 1180


def main() -> None:
    FOLDER.mkdir(exist_ok=True)
    with running() as house, sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        page = browser.new_page(viewport={"width": WIDTH, "height": 900}, color_scheme="light")
        study(page, house)
        page.context.clear_cookies()
        refusal(page, house)
        browser.close()


def study(page: Page, house: House) -> None:
    """The plan's groups with their numbers, the limits, and the individual values."""
    sign_in(page, house, "edmund")
    page.goto(f"{house.url}/studies/S-2026-0002/")
    page.locator("#values svg.main-svg").first.wait_for()
    figure = page.locator("#values").bounding_box()
    clip = {"x": 0, "y": 0, "width": WIDTH, "height": figure["y"] + figure["height"] + 16}
    page.screenshot(path=FOLDER / "study.png", full_page=True, clip=clip)


def refusal(page: Page, house: House) -> None:
    """An entry at another technique, refused in its eight parts, with what was typed still there."""
    sign_in(page, house, "tilly")
    page.goto(f"{house.url}/bench/")
    page.get_by_role("link", name="S-2026-0004 run 3").click()
    page.get_by_label("Maximum", exact=False).first.fill("3.07")
    page.get_by_text("How it was pulled, and when").click()
    page.get_by_label("Technique used").select_option("C")
    page.get_by_role("button", name="AP: adhesive peel").click()
    page.locator(".refusal").first.wait_for()
    end = page.locator("[data-modes]").bounding_box()
    clip = {"x": 0, "y": 0, "width": WIDTH, "height": end["y"] + end["height"] + 16}
    page.screenshot(path=FOLDER / "refusal.png", full_page=True, clip=clip)


if __name__ == "__main__":
    main()
