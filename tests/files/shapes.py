"""Small trace files for the tests, and the numbers that stand in them."""

import numpy as np

HEAD = "Displacement (mm),Force (N)"
ROWS = 40


def travel(rows=ROWS):
    """Displacement as written, millimetre."""
    return np.array([float(f"{0.1 * row:.2f}") for row in range(rows)])


def force(rows=ROWS):
    """Force as written, newton: negative readings and a trailing zero among them."""
    return np.array([float(f"{0.25 * (row % 7) - 0.05:.3f}") for row in range(rows)])


def lines(form="{x:.2f},{f:.3f}", *, rows=ROWS, comma=False):
    """Rows in a form of x (displacement), f (force), t (time at 5 mm/s) and tab; decimal commas if wanted."""
    made = [form.format(x=x, f=f, t=x / 5, tab="\t") for x, f in zip(travel(rows), force(rows), strict=True)]
    return [line.replace(".", ",") for line in made] if comma else made


def body(form="{x:.2f},{f:.3f}", *, rows=ROWS, comma=False):
    """The same as one text."""
    return "\n".join(lines(form, rows=rows, comma=comma))


def good(*, replace=None, head=HEAD):
    """A plain comma-separated file of 40 rows in lines 2 to 41; `replace` puts other text in some of them."""
    made = lines()
    for row, text in (replace or {}).items():
        made[row] = text
    return "\n".join([head, *made]).encode()
