"""What a browser makes of a page, without one: elements, attributes and visible text."""

import re
from collections import Counter
from html.parser import HTMLParser
from xml.etree import ElementTree

SILENT = ("style", "title")


class Page(HTMLParser):
    """A parsed page.

    Attributes
    ----------
    tags
        How often each element stands in it.
    attributes
        All of them, (name, value).
    text
        What a reader sees.
    """

    def __init__(self, page: bytes) -> None:
        super().__init__(convert_charrefs=True)
        self.tags: Counter[str] = Counter()
        self.attributes: list[tuple[str, str | None]] = []
        self._text: list[str] = []
        self._silent = 0
        self.source = page.decode()
        self.feed(self.source)
        self.close()

    @property
    def text(self) -> str:
        return re.sub(r"[ \n\xa0]+", " ", " ".join(self._text)).strip()

    @property
    def drawings(self) -> list[ElementTree.Element]:
        """Each drawing, as the XML it must be."""
        parts = self.source.split("<svg ")[1:]
        names = 'xmlns:xlink="http://www.w3.org/1999/xlink"'
        return [ElementTree.fromstring(f"<svg {names} {part.split('</svg>')[0]}</svg>") for part in parts]

    def handle_starttag(self, tag, attrs):
        self.tags[tag] += 1
        self.attributes += attrs
        self._silent += tag in SILENT

    def handle_endtag(self, tag):
        self._silent -= tag in SILENT

    def handle_data(self, data):
        if not self._silent:
            self._text.append(data)
