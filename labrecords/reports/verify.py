"""Checks the files of a report with nothing but Python: `python3 verify.py FOLDER`, where the files were unpacked.

It needs no network, no database and nothing installed; any Python from 3.9 on will do. It asks

1. whether every file is the one that the manifest names by its SHA-256,
2. whether the content is the one whose hash the report prints, and each photograph the one that it names,
3. whether each trace gives the maximum and the average that stand in results.csv,
4. whether each reading, over its width, gives its strength, and each strength and average the value that is printed,
5. whether the values that count give every number of every group: how many there are and lie beyond limits, mean,
   spread, ends, interval, Anderson and Darling's p, and the tolerance bounds, by the model named beside them,
6. whether the numbers in the answer are those of the tables.

Figures are not drawn again. Whether the report still holds only the laboratory can say, on its check page; whether its
audit trail goes through the head printed here, the archive for an auditor shows,
with a program of its own.
"""

import csv
import hashlib
import json
import pathlib
import re
import sys
from decimal import Decimal
from fractions import Fraction

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parent))
from verify_numbers import CLOSE, answer, groups, reads  # it lies beside this file, wherever that is

POUND_N, INCH_MM, GRAM_N = Fraction("4.4482216152605"), Fraction("25.4"), Fraction("0.00980665")
# Newton and millimetre in one of each unit of strength, exactly.
UNITS = {
    "lbf/in": (POUND_N, INCH_MM),
    "gf/in": (GRAM_N, INCH_MM),
    "N/mm": (Fraction(1), Fraction(1)),
    "N/15mm": (Fraction(1), Fraction(15)),
    "N/25mm": (Fraction(1), Fraction(25)),
    "N/25.4mm": (Fraction(1), Fraction("25.4")),
}
KEPT = Decimal("0.000000001")


class Report:
    """The files of one report, and what was found wrong with them."""

    def __init__(self, folder):
        self.folder, self.wrong, self.done, self.traces = pathlib.Path(folder), [], [], {}
        self.content = json.loads(self.text("content.json"))
        self.unit = self.content["unit"]
        self.rows = self.table("results.csv")
        for row in self.table("traces.csv"):
            point = float(row["displacement_mm"]), float(row["force_N"])
            self.traces.setdefault(row["specimen"], []).append(point)

    def text(self, name):
        return (self.folder / name).read_bytes().decode("utf-8")

    def table(self, name):
        return list(csv.DictReader(self.text(name).splitlines(keepends=True)))

    def column(self, row, name):
        """A cell of results.csv whose heading names the unit; None where it is empty."""
        text = row[f"{name}_{self.unit.replace('/', '_per_').replace('.', 'p')}"]
        return Decimal(text) if text else None

    def setup(self, label):
        return next(text for name, text in self.content["setup"] if name == label)

    def limits(self):
        """Side and value of every limit, exactly, in the unit of the results."""
        for limit in self.content["limits"]:
            side, value, unit = re.fullmatch(r"at (least|most) (\S+) (\S+)", limit["text"]).groups()
            (newton, millimetre), (own_newton, own_millimetre) = UNITS[unit], UNITS[self.unit]
            yield side, Fraction(value) * newton / millimetre / own_newton * own_millimetre

    def check(self, what, count, found):
        """Remember what was checked, and what was found wrong."""
        self.wrong += found
        self.done.append(f"{what}: {count} checked, {len(found)} wrong")


def files(report):
    """Every file against the manifest."""
    listed = [line.split("  ", 1) for line in report.text("manifest.txt").splitlines() if line]
    found = []
    for digest, name in listed:
        file = report.folder / name
        if not file.is_file():
            found.append(f"{name} is missing")
        elif hashlib.sha256(file.read_bytes()).hexdigest() != digest:
            found.append(f"{name} is not the file that the manifest names")
    report.check("files against the manifest", len(listed), found)


def content(report):
    """The content's own hash, over its canonical text without it."""
    said = dict(report.content)
    printed = said.pop("content_sha256")
    text = json.dumps(said, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    good = hashlib.sha256(text.encode("utf-8")).hexdigest() == printed
    report.check("hash of the content", 1, [] if good else [f"the content is not the one of hash {printed}"])


def photographs(report):
    """Each photograph against the hash that the content gives for it, which the signature is bound to."""
    named = report.content.get("photographs", [])
    found = []
    for photo in named:
        file = report.folder / photo["name"]
        if not file.is_file() or hashlib.sha256(file.read_bytes()).hexdigest() != photo["sha256"]:
            found.append(f"{photo['name']} is not the photograph that the report names")
    report.check("photographs", len(named), found)


def traces(report):
    """Maximum and average of each trace, as the averaging rule of the set-up says."""
    threshold, span = (float(part) / 100 for part in re.findall(r"([\d.]+) %", report.setup("Averaging rule"))[:2])
    found, count = [], 0
    for row in report.rows:
        points = sorted(report.traces.get(row["specimen"], []), key=lambda point: point[0])
        if row["source"] != "trace" or not points or not row["maximum_force_N"]:
            continue
        count += 1
        peak, average = max(force for _, force in points), report.column(row, "average_strength")
        if not close(peak, float(row["maximum_force_N"])):
            found.append(f"{row['specimen']}: its trace's maximum is {peak} N, not {row['maximum_force_N']} N")
        if average is not None:
            force = averaged(points, threshold * peak, span)
            if abs(strength(force, row["width_mm"], report.unit) - average) > 2 * KEPT:
                found.append(f"{row['specimen']}: its trace's average is not {average} {report.unit}")
    report.check("traces", count, found)


def averaged(points, threshold, share):
    """The mean force over the central share of the peel, by trapezoids."""
    above = [place for place, (_, force) in enumerate(points) if force > threshold]
    first, last = above[0], above[-1]
    start = crossing(points, max(first - 1, 0), first, threshold)
    end = crossing(points, min(last + 1, len(points) - 1), last, threshold)
    cut = (end - start) * (1 - share) / 2
    low, high = start + cut, end - cut
    inside = [(at, force) for at, force in points if low < at < high]
    inside = [(low, between(points, low)), *inside, (high, between(points, high))]
    area = sum((b[0] - a[0]) * (a[1] + b[1]) / 2 for a, b in zip(inside, inside[1:]))
    return area / (high - low)


def crossing(points, one, other, force):
    """The travel at which the force is reached, between two readings."""
    (x1, y1), (x2, y2) = points[one], points[other]
    return x2 if one == other or y1 == y2 else x1 + (x2 - x1) * (force - y1) / (y2 - y1)


def between(points, at):
    """The force at a travel, between two readings."""
    for (x1, y1), (x2, y2) in zip(points, points[1:]):
        if x1 <= at <= x2 and x2 > x1:
            return y1 + (y2 - y1) * (at - x1) / (x2 - x1)
    return points[-1][1]


def values(report):
    """Each reading to its strength, and each strength to what is printed."""
    found, count = [], 0
    printed = {row["specimen"]: row for row in report.content["results"]}
    for row in report.rows:
        label, value, average = (
            row["specimen"],
            *(report.column(row, f"{kind}_strength") for kind in ("maximum", "average")),
        )
        if label not in printed:
            found.append(f"{label} is in results.csv and not in the report")
            continue
        if value is None or printed[label]["maximum"] == "not shown":
            continue
        count += 1
        same = row["reading_unit"] == report.unit
        made = (
            Decimal(row["reading"]) if same else strength(float(row["maximum_force_N"]), row["width_mm"], report.unit)
        )
        if abs(made - value) > 2 * KEPT:
            found.append(f"{label}: {row['reading']} {row['reading_unit']} is {made} {report.unit}, not {value}")
        for number, text in ((value, printed[label]["maximum"]), (average, printed[label]["average"])):
            if text and not reads(number, text):
                found.append(f"{label}: {number} is printed as {text}")
    report.check("values", count, found)


def strength(force_n, width_mm, unit):
    """A force over a width in a unit of strength, to the nine decimals that are kept."""
    newton, millimetre = UNITS[unit]
    exact = Fraction(force_n) / newton / (Fraction(width_mm) / millimetre)
    return (Decimal(exact.numerator) / Decimal(exact.denominator)).quantize(KEPT)


def close(one, other):
    """Whether two floating numbers are the same but for rounding."""
    return abs(one - other) <= CLOSE * max(abs(one), abs(other), 1e-300)


def main(folder):
    """Check everything, say what was found, and give 0 only if nothing is wrong."""
    report = Report(folder)
    for step in (files, content, photographs, traces, values, groups, answer):
        step(report)
    said = report.content
    print(f"Report {said['number']}, issue {said['issue']}, of {said['issued_on']}: {said['title']}")
    for line in [*report.done, *(f"WRONG: {line}" for line in report.wrong)]:
        print(line)
    print(f"Audit trail at release: entry {said['trail']['seq']}, {said['trail']['head']}")
    print("Nothing is wrong." if not report.wrong else f"{len(report.wrong)} things are wrong.")
    return 1 if report.wrong else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1] if len(sys.argv) > 1 else "."))
