"""The numbers of a report's groups, computed again for verify.py, which lies beside this file and calls it.

All of it is standard-library Python: Student's t and the factors of tolerance bounds come from an integral by
Simpson's rule, so that nothing need be installed and nothing of the laboratory's own programs is trusted.
"""

import functools
import math
import re
from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_EVEN, Decimal
from fractions import Fraction
from statistics import NormalDist, mean, stdev

CLOSE = 1e-9  # of floating numbers computed twice; every printed digit must be the same
NODES = 20000
PLACE = ("lot", "arm", "time_point", "position")


def groups(report):
    """Every number of every group."""
    found, count = [], 0
    for group in report.content["groups"]:
        rows = [row for row in report.rows if row["counts"] == "yes"]
        rows = [row for row in rows if ", ".join(row[part] for part in PLACE if row[part]) == group["label"]]
        for what, good, value, printed in [*plain(report, group, rows), *bounds(report, group, rows)]:
            count += 1
            if not good:
                found.append(f"{group['label']}: its {what} is {value}, and is printed as {printed}")
    report.check("numbers of the groups", count, found)


def plain(report, group, rows):
    """Numbers that need no model but the normal one: what, whether it is as printed, what it is, what is printed."""
    known = [report.column(row, "maximum_strength") for row in rows if not row["beyond"]]
    yield "n", str(len(rows)) == group["n"], len(rows), group["n"]
    for part, side in (("below_limit", "least"), ("above_limit", "most")):
        if group.get(part):
            value = max(outside(report, rows, *limit) for limit in report.limits() if limit[0] == side)
            yield part, str(value) == group[part], value, group[part]
    if len(known) < max(len(rows), 2):
        return
    middle, sd = Decimal(repr(float(mean(map(Fraction, known))))), float(stdev(map(float, known)))
    for part, value in (("mean", middle), ("minimum", min(known)), ("maximum", max(known))):
        yield part, reads(value, group[part]), value, group[part]
    yield "sd", two_digits(sd) == group["sd"], sd, group["sd"]
    if group.get("cv"):
        yield "cv", rounded(Decimal(repr(sd / float(middle) * 100)), 1) + " %" == group["cv"], sd, group["cv"]
    ends = re.search(r"mean, (-?[\d.]+) to (-?[\d.]+)$", group.get("interval") or "")
    for sign, printed in zip((-1, 1), ends.groups() if ends else ()):
        value = float(middle) + sign * student(0.975, len(known) - 1) * sd / math.sqrt(len(known))
        yield "interval's end", reads(Decimal(repr(value)), printed), value, printed
    said = re.search(r"Anderson-Darling p (below )?([\d.]+)\)", group.get("note") or "")
    if said:
        p = anderson_darling([(float(value) - float(middle)) / sd for value in sorted(known)])
        yield "p", p < float(said[2]) if said[1] else reads(Decimal(repr(p)), said[2]), p, said[0]


def outside(report, rows, side, limit):
    """How many values are known to lie on the bad side of a limit."""
    bad, count = "below" if side == "least" else "above", 0
    for row in rows:
        value = report.column(row, "beyond_at" if row["beyond"] else "maximum_strength") or Decimal(0)
        past = Fraction(value) < limit if side == "least" else Fraction(value) > limit
        count += row["beyond"] == bad and (past or Fraction(value) == limit) if row["beyond"] else past
    return count


def bounds(report, group, rows):
    """The tolerance bounds, by the model named beside each; where packs are the unit, of one strip a pack."""
    coverage, confidence = (
        float(part) / 100 for part in re.findall(r"([\d.]+) %", report.setup("Tolerance bounds"))[:2]
    )
    pattern = r"(?:(lower|upper): )?(\d[\d.]*) \((normal|lognormal|from)[^)]*?\d+ (values|packs)"
    for side, printed, model, unit in re.findall(pattern, group["bound"]):
        sign, near = (-1, "above") if side == "upper" else (1, "below")
        strips = {}
        for row in rows:
            value = report.column(row, "beyond_at" if row["beyond"] else "maximum_strength") or 0
            strip = (row["beyond"] != near, sign * float(value))  # the weakest first, of an upper bound the strongest
            key = row["pack"] if unit == "packs" else row["specimen"]
            strips[key] = min(strips.get(key, strip), strip)
        value = sign * bound(sorted(strips.values()), model, sign, coverage, confidence)
        place = Decimal(1).scaleb(-len(printed.partition(".")[2]))
        way = ROUND_FLOOR if sign == 1 else ROUND_CEILING  # a promise is not rounded to its better side
        good = {Decimal(repr(value * (1 + off))).quantize(place, rounding=way) for off in (-CLOSE, 0, CLOSE)}
        yield f"{side or 'lower'} bound", Decimal(printed) in good, value, printed


def bound(strips, model, sign, coverage, confidence):
    """A lower bound of strips in order, by their order alone or by a model; an upper one has its signs turned."""
    n, data = len(strips), [value for _, value in strips]
    if model == "from":
        chance, rank = 0.0, 0
        while rank < n and 1 - chance - binomial(n, rank, 1 - coverage) >= confidence:
            chance, rank = chance + binomial(n, rank, 1 - coverage), rank + 1
        return data[rank - 1]
    data = [sign * math.log(sign * value) for value in data] if model == "lognormal" else data
    factor = student(confidence, n - 1, NormalDist().inv_cdf(coverage) * math.sqrt(n)) / math.sqrt(n)
    found = mean(data) - factor * stdev(data)
    return sign * math.exp(sign * found) if model == "lognormal" else found


def answer(report):
    """What the answer says in words, against the tables."""
    bounded = " ".join(group["bound"] for group in report.content["groups"])
    printed = {row["specimen"]: row["maximum"] for row in report.content["results"]}
    rows = [row for row in report.rows if row["counts"] == "yes"]
    known = [row for row in rows if not row["beyond"]]
    least = min(known, key=lambda row: report.column(row, "maximum_strength"))["specimen"] if known else None
    limits = [limit["text"] for limit in report.content["limits"]]
    beyond = {text: outside(report, rows, *limit) for text, limit in zip(limits, report.limits())}
    found, count = [], 0
    for sentence in report.content["summary"]:
        weakest = re.search(r"weakest(?: measured)? was (\S+) ", sentence)
        bound = re.search(r"(?:stronger|weaker) than (\S+) ", sentence)
        limit = re.match(r"The .*? is (at \w+ \S+ \S+)\. (?:.*?(\d+) of (\d+) values do(?:es)? not)?", sentence)
        good = [weakest[1] == printed[least]] if weakest else []
        good += [bound[1] in re.findall(r"\d[\d.]*", bounded)] if bound else []
        good += [(beyond[limit[1]], len(rows)) == (int(limit[2]), int(limit[3]))] if limit and limit[2] else []
        count += len(good)
        if not all(good):
            found.append(f"the tables do not say so: {sentence}")
    report.check("numbers in the answer", count, found)


def binomial(n, k, p):
    return math.comb(n, k) * p**k * (1 - p) ** (n - k)


@functools.lru_cache(None)
def student(p, df, shift=0.0):
    """A quantile of Student's t, non-central if shifted: the normal chance, averaged over the standard deviation."""
    reach = 13 / math.sqrt(2 * df)
    low = max(0.0, 1 - reach)
    step = (1 + reach - low) / NODES
    scale = math.log(2) + df / 2 * math.log(df / 2) - math.lgamma(df / 2)
    nodes = []
    for place in range(NODES + 1):
        s = low + place * step or 1e-300
        weight = 1 if place in (0, NODES) else 4 if place % 2 else 2
        nodes.append((s, weight * step / 3 * math.exp(scale + (df - 1) * math.log(s) - df * s * s / 2)))
    least, most = -1e4, 1e4
    while most - least > 1e-11 * max(1, abs(most)):
        t = (least + most) / 2
        under = sum(weight * phi(t * s - shift) for s, weight in nodes) < p
        least, most = (t, most) if under else (least, t)
    return most


def phi(z):
    return math.erfc(-z / math.sqrt(2)) / 2


def anderson_darling(z):
    """p of the test of normality with mean and spread taken from the values (D'Agostino and Stephens 1986)."""
    n = len(z)
    tails = sum((2 * i + 1) * (math.log(phi(z[i])) + math.log(phi(-z[n - 1 - i]))) for i in range(n))
    a = min((-n - tails / n) * (1 + 0.75 / n + 2.25 / n**2), 10)
    if a >= 0.34:
        return math.exp(1.2937 - 5.709 * a + 0.0186 * a * a if a >= 0.6 else 0.9177 - 4.279 * a - 1.38 * a * a)
    return 1 - math.exp(-8.318 + 42.796 * a - 59.938 * a * a if a >= 0.2 else -13.436 + 101.14 * a - 223.73 * a * a)


def reads(value, printed):
    """Whether a value reads so, rounded to as many decimals as are printed, ties to the even digit."""
    decimals = len(printed.partition(".")[2])
    return value is not None and bool(re.fullmatch(r"-?\d+(\.\d+)?", printed)) and rounded(value, decimals) == printed


def rounded(value, decimals):
    """A value to a fixed count of decimals, ties to the even digit."""
    return f"{value.quantize(Decimal(1).scaleb(-decimals), rounding=ROUND_HALF_EVEN):f}"


def two_digits(value):
    """A standard deviation to two significant digits."""
    number = Decimal(repr(value))
    if not number:
        return "0"
    place = number.adjusted() - 1
    made = number.quantize(Decimal(1).scaleb(place), rounding=ROUND_HALF_EVEN)
    return f"{made.quantize(Decimal(1).scaleb(max(made.adjusted() - 1, place))):f}"
