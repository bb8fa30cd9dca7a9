"""Files that are kept, read for one curve after another: the bytes under a hash never change, so once is enough."""

import json
from dataclasses import dataclass, field
from functools import lru_cache

from . import reader
from .layout import Layout


@dataclass(frozen=True)
class Kept:
    """A kept file; the same as any other of the same hash and name."""

    sha256: str
    name: str
    content: bytes = field(compare=False, repr=False)

    def read(self, layout: Layout) -> reader.TraceFile:
        """The file as the layout says it is read. The last two are remembered. Raises FileProblem."""
        return _read(self, json.dumps(layout.to_json(), sort_keys=True))


@lru_cache(maxsize=2)
def _read(kept: Kept, layout: str) -> reader.TraceFile:
    return reader.read(kept.content, Layout.from_json(json.loads(layout)), name=kept.name)
