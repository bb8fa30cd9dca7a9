"""What a test sees of a page: its headings, links, tables and text."""

from html.parser import HTMLParser

VOID_ELEMENTS = {"meta", "link", "img", "input", "br", "hr", "wbr", "path", "circle"}


class Page(HTMLParser):
    """Reads a page or a part of one."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.elements: list[tuple[str, dict]] = []
        self.open: list[str] = []
        self.pieces: list[str] = []
        self.feed(html)
        self.close()
        assert self.open == [], f"never closed: {self.open}"

    def handle_starttag(self, tag, attrs):
        self.elements.append((tag, dict(attrs)))
        if tag not in VOID_ELEMENTS:
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.elements.append((tag, dict(attrs)))

    def handle_endtag(self, tag):
        assert self.open.pop() == tag, f"{tag} closes another element"

    def handle_data(self, data):
        self.pieces.append(data)

    @property
    def text(self) -> str:
        return squeezed("".join(self.pieces))

    @property
    def headings(self) -> list[int]:
        return [int(tag[1]) for tag, _ in self.elements if tag in ("h1", "h2", "h3", "h4")]

    def all(self, tag: str) -> list[dict]:
        return [attrs for found, attrs in self.elements if found == tag]

    @property
    def ids(self) -> list[str]:
        return [attrs["id"] for _, attrs in self.elements if "id" in attrs]

    @property
    def addresses(self) -> list[str]:
        """Where the page leads, and what it shows."""
        return [attrs[name] for _, attrs in self.elements for name in ("href", "src") if attrs.get(name)]


def squeezed(text: str) -> str:
    """A text without its white space, which a page may break as it likes."""
    return "".join(text.split())
