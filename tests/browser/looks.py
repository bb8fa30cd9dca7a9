"""What is wrong with a page as it stands: axe's findings, width, heading, title, language, and the way past the top."""

from collections.abc import Iterator

from axe_playwright_python.base import AXE_SCRIPT

from tests.browser.house import settled

WIDE, NARROW = {"width": 1280, "height": 900}, {"width": 320, "height": 800}
# What colours and width can break; the rest of a page is the same in every look.
BY_LOOK = [
    *("color-contrast", "link-in-text-block", "target-size", "scrollable-region-focusable"),
    *("label", "link-name", "button-name", "image-alt", "svg-img-alt", "aria-hidden-focus"),
]
RUN = "rules => axe.run(document, {resultTypes: ['violations'], ...rules}).then(found => found.violations)"
TWO_FRAMES = "new Promise(done => requestAnimationFrame(() => requestAnimationFrame(() => done())))"
SIDEWAYS = "document.documentElement.scrollWidth - document.documentElement.clientWidth"


def faults_of(page) -> list[str]:
    """Everything wrong with an open page, wide and light, then narrow and dark. The page is left wide and light."""
    settled(page)
    page.evaluate(AXE_SCRIPT)
    faults = [*_axe(page, {"rules": {"target-size": {"enabled": True}}}), *_said(page)]
    _show(page, "dark", NARROW)
    faults += _axe(page, {"runOnly": {"type": "rule", "values": BY_LOOK}})
    if (pixels := page.evaluate(SIDEWAYS)) > 0:
        faults.append(f"scrolls sideways by {pixels} px when 320 px wide")
    _show(page, "light", WIDE)
    return faults


def _show(page, scheme: str, size: dict[str, int]) -> None:
    """Change the colours, then the width. Figures are drawn anew for each, and one drawing must not meet the other."""
    page.emulate_media(color_scheme=scheme)
    page.evaluate(TWO_FRAMES)
    page.set_viewport_size(size)
    page.evaluate(TWO_FRAMES)


def _axe(page, rules: dict) -> Iterator[str]:
    for item in page.evaluate(RUN, rules):
        yield f"axe {item['id']}: {len(item['nodes'])} x {item['nodes'][0]['html'][:120]}"


def _said(page) -> Iterator[str]:
    if page.locator("h1").count() != 1:
        yield "has not exactly one h1"
    # the title begins with the page's own words; after the dash comes the laboratory
    if not page.title().partition("–")[0].strip():
        yield "has no title"
    if page.locator("html").get_attribute("lang") != "en-GB":
        yield "names no language"


def faults_of_the_skip_link(page) -> list[str]:
    """The first press of Tab on a page just opened shows the skip link, and Enter leads past the top."""
    # where a page puts the focus on its main field, the reader is past the top already
    page.evaluate("document.activeElement.blur()")
    page.evaluate("document.body.tabIndex = -1; document.body.focus(); document.body.removeAttribute('tabindex')")
    page.keyboard.press("Tab")
    first = page.evaluate("document.activeElement.textContent.trim()")
    if first != "Skip to the content" or not page.locator("a.skip").is_visible():
        return [f"the first stop of Tab is {first[:40]!r}"]
    page.keyboard.press("Enter")
    if page.evaluate("document.activeElement.id") != "main":
        return ["the skip link does not lead to the content"]
    return []
