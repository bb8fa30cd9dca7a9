"""The trace that waits for a specimen: of a file that came, by the code in it, with no result yet."""

from dataclasses import dataclass

from labrecords.actions import results
from labrecords.charts.thumbnail import Thumbnail, thumbnail
from labrecords.files import problems, reader, sniff
from labrecords.files.layout import Layout
from labrecords.queries import traces
from labrecords.reports.digits import fixed
from labrecords.rules import labels
from labrecords.stats import units
from labrecords.stats.traces import ReducedTrace

MOST_FILES = 12  # the newest that have to be opened; what waits longer is matched on the page of its file
MOST_BYTES = 2_000_000
MOST_SEEN = 512
_SEEN: dict[tuple[str, str], dict[str, list[int]]] = {}


@dataclass(frozen=True)
class WaitingTrace:
    """One curve of a received file that has no result, as the bench shows it before it is kept."""

    choice: results.TraceChoice
    reduced: ReducedTrace
    drawn: Thumbnail
    strength: str

    @property
    def name(self) -> str:
        """What the form carries, so that no other trace is kept than the one that was seen."""
        return f"{self.choice.file.pk}/{self.choice.segment}"


def of(run, label: str) -> WaitingTrace | None:
    """The trace that waits for the specimen with this label.

    None where none came, where its columns are not plain (somebody looks at those first) or it cannot be reduced.
    """
    remembered = traces.remembered_layout(run.tester)
    opened = 0
    for file in traces.received_files(run.study):
        used = {trace.segment for trace in file.traces.all()}
        if not _may_hold(file, label):
            continue
        opened += 1
        if opened > MOST_FILES:
            return None
        for index in _found(file, remembered).get(label, ()):
            if index not in used:
                return _waiting(run, file, index, remembered)
    return None


def named(run, name: str) -> results.TraceChoice | None:
    """The trace of an entry that has had its answer, by what its form carried, whether or not it waits still."""
    file_pk, _, segment = name.partition("/")
    found = next((file for file in traces.received_files(run.study) if str(file.pk) == file_pk), None)
    if found is None or not segment.isdecimal():
        return None
    return results.TraceChoice(file=found, segment=int(segment), layout={})


def _may_hold(file, label: str) -> bool:
    named = {found.text for found in labels.find(file.name, "SP")}
    return label in named or (not named and file.size <= MOST_BYTES)


def _found(file, remembered: dict | None) -> dict[str, list[int]]:
    """Which curves of a file are whose. A file never changes, so what was found in it is remembered."""
    key = (file.sha256, repr(remembered))
    if key not in _SEEN:
        if len(_SEEN) >= MOST_SEEN:
            _SEEN.clear()
        _SEEN[key] = _looked_through(file, remembered)
    return _SEEN[key]


def _looked_through(file, remembered: dict | None) -> dict[str, list[int]]:
    found: dict[str, list[int]] = {}
    for segment in _segments(file, remembered)[1]:
        if segment.codes:
            found.setdefault(segment.codes[0].text, []).append(segment.index)
    return found


def _segments(file, remembered: dict | None) -> tuple[Layout | None, tuple]:
    """The curves of a file whose columns are plain; none of one that a person has to look at first."""
    data = bytes(file.content)
    try:
        sniffed = sniff.sniff(data, remembered=Layout.from_json(remembered) if remembered else None)
        if sniffed.uncertain or not sniffed.layout.series:
            return None, ()
        return sniffed.layout, reader.read(data, sniffed.layout, name=file.name).segments
    except problems.FileProblem:
        return None, ()


def _waiting(run, file, index: int, remembered: dict | None) -> WaitingTrace | None:
    layout, segments = _segments(file, remembered)
    setup, segment = run.study.setup, segments[index - 1]
    try:
        ordered, reduced = traces.reduced_as_locked(setup, segment)
    except ValueError:
        return None
    drawn = thumbnail(
        ordered.displacement_mm,
        ordered.force_n,
        span_mm=(reduced.analysed_from_mm, reduced.analysed_to_mm),
        peak=(reduced.peak_displacement_mm, reduced.peak_force_n),
    )
    strength = units.strength(reduced.peak_force_n, float(setup.width_mm), setup.unit)
    choice = results.TraceChoice(file=file, segment=index, layout=layout.to_json())
    return WaitingTrace(choice, reduced, drawn, fixed(strength, setup.decimals))
