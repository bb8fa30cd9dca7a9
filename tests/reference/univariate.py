"""The sets of values that R and Python both read."""

from functools import lru_cache

from tests.reference import tables


@lru_cache
def sets():
    """Values by the name of their set: univariate.csv, and the NIST set ZARR13."""
    found = {}
    for name, value in tables.rows("univariate.csv")[1:]:
        found.setdefault(name, []).append(float(value))
    return found | {"zarr13": tables.column("zarr13.csv")}
