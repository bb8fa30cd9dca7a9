"""Samples of a trace as compact bytes, without loss: columns of doubles, shuffled by byte, compressed.

Layout: four letters, one byte of version, one byte of columns, eight bytes of rows, four bytes of CRC-32 of
the plain columns, then the compressed columns. Shuffling puts bytes of equal weight side by side, which
compresses well.
"""

import struct
import zlib

import numpy as np
from numpy.typing import ArrayLike, NDArray

MARK = b"LRTR"
VERSION = 1
_HEAD = struct.Struct("<4sBBQI")
_BYTES = 8  # of a double

Floats = NDArray[np.float64]


class DamagedPack(ValueError):
    """Bytes that are not what `pack` made."""


def pack(displacement_mm: ArrayLike, force_n: ArrayLike, time_s: ArrayLike | None = None) -> bytes:
    """Two or three equally long columns as bytes; every bit of them comes back from `unpack`.

    >>> unpack(pack([0, 0.1], [1, 2]))
    (array([0. , 0.1]), array([1., 2.]), None)
    """
    given = [displacement_mm, force_n] if time_s is None else [displacement_mm, force_n, time_s]
    columns = [np.ascontiguousarray(column, dtype="<f8") for column in given]
    if any(column.ndim != 1 or column.size != columns[0].size for column in columns):
        raise ValueError("The columns of a trace are one-dimensional and equally long.")
    plain = b"".join(column.view(np.uint8).reshape(-1, _BYTES).T.tobytes() for column in columns)
    head = _HEAD.pack(MARK, VERSION, len(columns), columns[0].size, zlib.crc32(plain))
    return head + zlib.compress(plain, 1)


def unpack(packed: bytes) -> tuple[Floats, Floats, Floats | None]:
    """Displacement, force and time (None if there was none). Raises DamagedPack."""
    packed = bytes(packed)
    if len(packed) < _HEAD.size or packed[:4] != MARK:
        raise DamagedPack("These bytes are not a packed trace.")
    _, version, count, rows, checksum = _HEAD.unpack_from(packed)
    if version != VERSION or count not in (2, 3):
        raise DamagedPack(f"A packed trace of version {version} with {count} columns is not known here.")
    plain = _inflated(packed[_HEAD.size :], count * rows * _BYTES)
    if zlib.crc32(plain) != checksum:
        raise DamagedPack("The packed trace is damaged: its checksum differs.")
    shuffled = np.frombuffer(plain, np.uint8).reshape(count, _BYTES, rows)
    columns = [np.ascontiguousarray(column.T).view("<f8").reshape(rows) for column in shuffled]
    return columns[0], columns[1], columns[2] if count == 3 else None


def _inflated(compressed: bytes, size: int) -> bytes:
    """Exactly `size` bytes; a damaged size is refused before memory is taken for it."""
    if size > len(compressed) * 1100 + 64:  # zlib packs at most about 1030 to 1
        raise DamagedPack("The packed trace is damaged: it says it holds more than it can.")
    reader = zlib.decompressobj()
    try:
        plain = reader.decompress(compressed, size + 1)
    except zlib.error as error:
        raise DamagedPack(f"The packed trace is damaged: {error}.") from error
    if len(plain) != size or not reader.eof or reader.unused_data:
        raise DamagedPack("The packed trace is damaged: its length differs.")
    return plain
