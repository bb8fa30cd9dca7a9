"""The archive of a report for an auditor: all that it rests on, as open files with their hashes, in one zip."""

import io
import json
import pathlib
import zipfile
from collections.abc import Iterator
from datetime import datetime

from labrecords.files.documents import safe_name, sha256
from labrecords.files.zipped import entry
from labrecords.models import Event, Report
from labrecords.queries import archive

from .tables import written

VERIFIER = pathlib.Path(__file__).with_name("verify_trail.py").read_bytes()

ABOUT = """What this archive holds

It was made from the laboratory's records for report {number}, issue {issue}, on {made_at}.

report/        the files of the report, byte for byte as they were released; its README.txt says what they hold
records/       every row of record behind the report, one table a file: {tables}
certificates/  calibration certificates of everything that was used
photographs/   of the separated strips, byte for byte as they came; those attached in error are only in records/
trail/         the audit trail: events.jsonl has the events behind this report, byte for byte as they were sealed;
               seals.csv every seal of the chain from the first of them on, each with the hashes of the events that it
               was made over; heads.txt the heads of the chain as they were noted outside the database
manifest.txt   SHA-256 of every other file

python3 report/verify.py report       computes every printed number again from traces and entered values
python3 verify_trail.py .             follows the chain, and holds events, heads and signatures against it

A leaf of the chain is SHA-256 of byte 0 and the event's text; a seal is SHA-256 of byte 1, the seal before, and SHA-256
of its leaves in order. Events that do not belong to this report are there as hashes alone.

Times are UTC. Text is UTF-8. In tables a person stands by name, any other record by its key. Seal strength alone does
not show that a package keeps its contents sterile.
"""


def zipped(report: Report, *, heads: str, made_at: datetime) -> bytes:
    """The archive. `heads` is the text of the file of noted heads."""
    out, listed = io.BytesIO(), []
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as packed:
        for name, content in _files(report, heads=heads, made_at=made_at):
            packed.writestr(entry(name, made_at), content)
            listed.append(f"{sha256(content)}  {name}\n")
        packed.writestr(entry("manifest.txt", made_at), "".join(listed))
    return out.getvalue()


def _files(report: Report, *, heads: str, made_at: datetime) -> Iterator[tuple[str, bytes]]:
    for file in report.files.all():
        yield f"report/{file.name}", bytes(file.content)
    found = archive.basis(report)
    tables = archive.tables(found)
    for table in tables:
        yield f"records/{table.name}.csv", _csv(table)
    for document in archive.certificates(found):
        name = f"{document.equipment.label}-{document.sha256[:8]}-{safe_name(document.name)}"
        yield f"certificates/{name}", bytes(document.content)
    for photo in archive.photographs_that_stand(report.study).iterator(chunk_size=1):
        name = f"{photo.result.specimen.label}-{photo.sha256[:8]}-{safe_name(photo.name)}"
        yield f"photographs/{name}", bytes(photo.content)
    events = archive.events(found)
    yield "trail/events.jsonl", _events(events)
    yield "trail/seals.csv", _seals(events[0])
    yield "trail/heads.txt", heads.encode("ascii", "replace")
    yield "verify_trail.py", VERIFIER
    said = "\n               ".join(f"{table.name}: {table.about}" for table in tables)
    about = ABOUT.format(
        number=report.number, issue=report.issue, made_at=f"{made_at:%Y-%m-%d}", tables=f"\n               {said}"
    )
    yield "README.txt", about.encode()


def _csv(table: archive.Table) -> bytes:
    columns = list(table.rows[0]) if table.rows else ["none"]
    return written([columns, *([row[name] for name in columns] for row in table.rows)])


def _events(events: list[Event]) -> bytes:
    placed = archive.places(events)
    lines = []
    for event in events:
        seal, place = placed[event.pk]
        told = {"event": event.pk, "seal": seal, "place": place, "body": event.body}
        lines.append(json.dumps(told, ensure_ascii=False))
    return "".join(f"{line}\n" for line in lines).encode()


def _seals(first: Event) -> bytes:
    rows = ((seal.seq, seal.prev, seal.hash, " ".join(seal.leaves)) for seal in archive.chain(first))
    return written([("seal", "previous", "hash", "leaves"), *rows])
