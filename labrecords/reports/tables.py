"""The data of a report as CSV (RFC 4180, UTF-8): results, and every point of every trace."""

from collections.abc import Iterable, Sequence

from labrecords.files.spreadsheet import written
from labrecords.models import Study
from labrecords.queries.numbers import GroupNumbers
from labrecords.queries.traces import Curve


def results_csv(study: Study, groups: Sequence[GroupNumbers]) -> bytes:
    """One row a specimen with a result, those that do not count too; strengths to the nine decimals that are kept.

    A result known only to lie beyond an end has that end and its reading, and no force or strength to average.
    """
    unit = study.setup.unit.replace("/", "_per_").replace(".", "p")
    header = (
        *("specimen", "pack", "lot", "arm", "time_point", "position", "counts", "why_not", "reading", "reading_unit"),
        *("maximum_force_N", f"maximum_strength_{unit}", "beyond", f"beyond_at_{unit}", f"average_strength_{unit}"),
        *("failure_modes", "marks", "deviations", "remark", "width_mm", "tested_at_utc", "tested_by"),
        *("run", "tester", "load_cell", "source"),
    )
    lines = [line for group in groups for line in group.lines if line.result is not None]
    return written([header, *(_row(line) for line in lines)])


def _row(line) -> tuple:
    specimen, result = line.specimen, line.result
    group = specimen.group
    return (
        *(specimen.label, specimen.pack.label, group.lot, group.arm, group.time_point, group.position),
        *("yes" if line.counts else "no", _why_not(line), result.recorded, result.recorded_unit),
        *((None, None) if result.censored else (result.peak_force_n, result.strength)),
        *(result.censored, result.censored_at, result.mean_strength),
        *(" ".join(result.modes), " ".join(result.marks), " ".join(made.code for made in result.deviations.all())),
        *(result.remark, result.width_mm),
        *(result.tested_at.strftime("%Y-%m-%dT%H:%M:%SZ"), result.tested_by.name, result.run.number),
        *(result.run.tester.label, result.run.cell.label, result.source),
    )


def _why_not(line) -> str:
    if line.void:
        return f"void: {line.specimen.void.words}"
    decisions = [made.decision for made in line.result.deviations.all() if line.set_aside]
    return "; ".join(f"set aside: {made.words}" for made in decisions if not made.counts)


def traces_csv(curves: Iterable[Curve]) -> bytes:
    """Every point of every trace, in acquisition order, at full precision."""
    rows = [("specimen", "point", "displacement_mm", "force_N", "time_s")]
    for curve in curves:
        times = curve.time_s if curve.time_s is not None else [None] * len(curve.force_n)
        for point, values in enumerate(zip(curve.displacement_mm, curve.force_n, times, strict=True), start=1):
            rows.append((curve.label, point, *(None if value is None else repr(float(value)) for value in values)))
    return written(rows)


README = """The files of this report

report.pdf    the report as signed
content.json  everything the report says, as canonical JSON; its SHA-256 is the content hash printed in the report
results.csv   one row a specimen: force in newton, strength in the unit in the column's name, at full precision;
              "beyond" says below or above where a force lay outside what the equipment can measure: it has the
              reading and the end beyond which it lies, and no force to average; "why_not" says why one does not count
traces.csv    every point of every force trace as acquired: travel in millimetre, force in newton, time in second
*.svg         the figures
photograph-*.jpg  photographs of separated strips, drawn again smaller and without what a camera notes; which shows
              what stands in content.json
verify.py     python3 verify.py FOLDER checks all of this with nothing but Python: hashes, traces, values, and (in
              verify_numbers.py) every number of the groups and of the answer
manifest.txt  SHA-256 of every file

Numbers have a decimal point and no grouping. Times are UTC. Text is UTF-8.
"""
