"""Slices: a table that grows a row at a time and holds only its last slice in memory."""

from __future__ import annotations

import tempfile
import weakref
from collections.abc import Iterator
from typing import IO

import numpy as np

SLICE_BYTES = 8_000_000


class SlicedTable:
    """Rows of one kind, full slices of which lie in a temporary file without a name.

    The file goes when the table does, also where the program is killed.

    Parameters
    ----------
    dtype
        Of a row.
    slice_rows
        Rows that stay in memory at most; some eight megabytes of them where left out.
    """

    def __init__(self, dtype: np.dtype, *, slice_rows: int | None = None) -> None:
        self.dtype = dtype
        self.slice_rows = slice_rows or max(1, SLICE_BYTES // dtype.itemsize)
        # Bytes, since numpy takes long over joining many short arrays of records.
        self._open = bytearray()
        self._file: IO[bytes] | None = None
        self._filed = 0

    def __len__(self) -> int:
        """Return the number of rows."""
        return self._filed + len(self._open) // self.dtype.itemsize

    def extend(self, rows: np.ndarray) -> None:
        """Append rows.

        Parameters
        ----------
        rows
            Of the table's dtype, shape (n,).
        """
        self._open += rows.tobytes()
        if len(self._open) >= self.slice_rows * self.dtype.itemsize:
            if self._file is None:
                self._file = tempfile.TemporaryFile(prefix="holdwater-")  # noqa: SIM115
                weakref.finalize(self, self._file.close)
            self._file.seek(0, 2)
            self._file.write(self._open)
            self._filed += len(self._open) // self.dtype.itemsize
            self._open = bytearray()

    def slices(self) -> Iterator[np.ndarray]:
        """Yield all rows in order, a slice at a time."""
        if self._file is not None:
            for first in range(0, self._filed, self.slice_rows):
                count = min(self.slice_rows, self._filed - first)
                self._file.seek(first * self.dtype.itemsize)
                yield np.frombuffer(self._file.read(count * self.dtype.itemsize), self.dtype)
        if self._open:
            yield np.frombuffer(bytes(self._open), self.dtype)

    def rows(self) -> np.ndarray:
        """Return all rows at once, shape (n,); it takes the memory of them all."""
        return np.frombuffer(b"".join(part.tobytes() for part in self.slices()), self.dtype)

    def column(self, name: str) -> np.ndarray:
        """Return one column of all rows, shape (n,)."""
        empty = np.empty(0, self.dtype)[name]
        return np.concatenate([empty, *(part[name].copy() for part in self.slices())])

    def __getitem__(self, name: str) -> np.ndarray:
        """Return one column of all rows, shape (n,)."""
        return self.column(name)
