"""A run as bytes and back: whatever an `Outcome` holds, by name, with type and shape.

The bytes are a head as JSON (its length first) and the arrays one after the other, compressed as
one. A field that is new in `Outcome` is carried without a word here.
"""

from __future__ import annotations

import hashlib
import json
import zlib
from dataclasses import fields
from typing import Any

import numpy as np

from sim.outcome import Outcome

MARK = b"run 1\n"
LEVEL = 4  # of compression: higher ones save a tenth and take twice as long
PLAIN = (int, float, str, bool, type(None))


class Damaged(Exception):  # noqa: N818
    """The bytes are not those of a run."""


def as_bytes(outcome: Outcome) -> bytes:
    """Return a run as bytes.

    Parameters
    ----------
    outcome
        Its fields are arrays or plain values.

    Raises
    ------
    TypeError
        If a field is neither.
    """
    head: list[dict[str, Any]] = []
    parts: list[bytes] = []
    for one in fields(outcome):
        value = getattr(outcome, one.name)
        if isinstance(value, np.ndarray) and not value.dtype.hasobject:
            whole = np.ascontiguousarray(value).reshape(value.shape)
            head.append(
                {
                    "name": one.name,
                    "dtype": np.lib.format.dtype_to_descr(value.dtype),
                    "shape": value.shape,
                }
            )
            parts.append(whole.tobytes())
        elif isinstance(value, PLAIN):
            head.append({"name": one.name, "value": value})
        else:
            raise TypeError(f"Outcome.{one.name} is a {type(value).__name__}; expected an array.")
    words = json.dumps(head).encode()
    return zlib.compress(b"".join((MARK, len(words).to_bytes(4, "little"), words, *parts)), LEVEL)


def from_bytes(data: bytes) -> dict[str, Any]:
    """Return the parts of the run that bytes hold, by name.

    Parameters
    ----------
    data
        Of `as_bytes`, of this version of the model or another, whose runs may have other parts.

    Raises
    ------
    Damaged
        If they hold none.
    """
    try:
        whole = zlib.decompress(data)
        if not whole.startswith(MARK):
            raise Damaged("it does not begin as a run does")
        at = len(MARK) + 4
        length = int.from_bytes(whole[len(MARK) : at], "little")
        head = json.loads(whole[at : at + length])
        at += length
        values: dict[str, Any] = {}
        for one in head:
            if "value" in one:
                values[one["name"]] = one["value"]
                continue
            dtype = np.lib.format.descr_to_dtype(_descr(one["dtype"]))
            shape = tuple(one["shape"])
            count = int(np.prod(shape, dtype=np.int64))
            array = np.frombuffer(whole, dtype, count=count, offset=at)
            values[one["name"]] = array.reshape(shape).copy()
            at += count * dtype.itemsize
        if at != len(whole):
            raise Damaged("it is longer than it says")
        return values
    except Damaged:
        raise
    except (zlib.error, ValueError, TypeError, KeyError) as error:
        raise Damaged(str(error)) from None


def checksum(data: bytes) -> bytes:
    """Return a short digest of bytes, by which damage is noticed."""
    return hashlib.blake2b(data, digest_size=8).digest()


def _descr(found: Any) -> Any:
    """Return a description of a type as numpy wants it: JSON has lists where it had tuples."""
    if isinstance(found, str):
        return found
    return [
        tuple(
            _descr(part) if k == 1 else tuple(part) if isinstance(part, list) else part
            for k, part in enumerate(field)
        )
        for field in found
    ]


def parts_of(digest: bytes, data: bytes, *, run: int) -> dict[str, Any]:
    """Return the parts of the run that kept bytes hold, by name.

    Parameters
    ----------
    digest, data
        As they were kept, by this version of the model or another.
    run
        Its number.

    Raises
    ------
    Damaged
        If the bytes have changed, or are those of another run.
    """
    if checksum(data) != digest:
        raise Damaged("its bytes have changed")
    parts = from_bytes(data)
    if parts.get("run") != run:
        raise Damaged(f"it is run {parts.get('run')}")
    return parts
