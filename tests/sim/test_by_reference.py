"""A tuple that is passed as an address reads, in compiled code, as it does in Python."""

from __future__ import annotations

import gc
import pickle
import weakref
from typing import NamedTuple

import numba
import numpy as np
import pytest
from numba import types
from numba.core.errors import TypingError
from numba.extending import typeof_impl

from sim.by_reference import AddressOf, by_reference
from sim.compiler import INNER, RULES
from sim.state import State
from sim.tables import Floor
from tests.sim.calling import COMPILED

pytestmark = pytest.mark.skipif(not COMPILED, reason="the compiler is off")

FISH = np.dtype([("x", np.float64), ("rank", np.int32), ("hurt", np.uint8)], align=True)
rules = numba.njit(**RULES)
inner = numba.njit(**INNER)


@by_reference
class Small(NamedTuple):
    fish: np.ndarray
    pair: np.ndarray
    cube: np.ndarray
    column: np.ndarray
    bits: np.ndarray
    number: float


def small(n: int = 5, *, kind: type = np.float64) -> Small:
    fish = np.zeros(n, FISH).view(np.recarray)
    fish.x = np.arange(n) * 1.5
    fish.rank = np.arange(n)[::-1]
    pair = np.arange(n * n, dtype=kind).reshape(n, n)
    cube = np.arange(2 * n * 3, dtype=np.float32).reshape(2, n, 3)
    return Small(fish, pair, cube, pair[:, 1], np.arange(n, dtype=np.uint8), 0.25)


def test_state_and_floor_are_passed_by_reference():
    assert isinstance(numba.typeof(small()), AddressOf)
    for kind in (State, Floor):
        assert typeof_impl.dispatch(kind) is typeof_impl.dispatch(Small)


@rules
def everything(given, out):
    out[0] = len(given.fish)
    out[1] = given.fish[3].x
    out[2] = given.fish[1].rank
    out[3] = given.pair[2, 3]
    out[4] = given.cube[1, 2, 1]
    out[5] = given.column[3]
    out[6] = given.bits[-1]
    out[7] = given.number
    out[8] = given.cube.shape[1]
    out[9] = given.pair.size
    out[10] = given.column.strides[0]
    out[11] = given.cube.strides[0]
    out[12] = given.fish.itemsize
    row = given.pair[4]
    out[13] = row[2] + row.shape[0]


def test_every_kind_of_field_reads_as_it_does_in_python():
    given, out = small(), np.zeros(14)
    everything(given, out)
    expected = [
        len(given.fish), given.fish[3].x, given.fish[1].rank, given.pair[2, 3],
        given.cube[1, 2, 1], given.column[3], given.bits[-1], given.number, given.cube.shape[1],
        given.pair.size, given.column.strides[0], given.cube.strides[0], given.fish.itemsize,
        given.pair[4, 2] + 5,
    ]  # fmt: skip
    assert out.tolist() == [float(one) for one in expected]


@inner
def deeper(given, k):
    given.fish[k].x += given.number
    given.fish[k].hurt = 1
    given.pair[k, k] = -1.0


@rules
def written(given):
    for k in range(len(given.fish)):
        deeper(given, k)


def test_what_is_written_two_calls_down_is_in_the_arrays():
    given = small()
    written(given)
    assert given.fish.x.tolist() == [0.25, 1.75, 3.25, 4.75, 6.25]
    assert given.fish.hurt.tolist() == [1] * 5
    assert np.diag(given.pair).tolist() == [-1.0] * 5
    assert given.pair[0, 1] == 1.0


@rules
def twice(given):
    before = given.pair[0, 0]
    deeper(given, 0)
    return before, given.pair[0, 0], len(given.fish)


def test_what_is_read_again_after_a_call_has_changed():
    assert twice(small(4)) == (0.0, -1.0, 4)
    assert twice(small(2)) == (0.0, -1.0, 2), "a shape of another tuple was kept"


def test_the_same_class_with_other_arrays_is_another_type():
    wide, narrow = numba.typeof(small()), numba.typeof(small(kind=np.float32))
    assert wide != narrow
    assert len({wide, narrow, numba.typeof(small(3))}) == 2
    given, out = small(kind=np.float32), np.zeros(14)
    everything(given, out)
    assert out[3] == given.pair[2, 3]
    assert pickle.loads(pickle.dumps(wide)) == wide


@by_reference
class Swapped(NamedTuple):
    pair: np.ndarray
    fish: np.ndarray


def test_classes_of_one_name_with_fields_in_another_order_are_not_confused():
    """A compiled function that was made for one must not be called with the other."""
    first, second = np.arange(3.0), np.arange(10.0, 13.0)
    other = by_reference(NamedTuple("Swapped", [("fish", np.ndarray), ("pair", np.ndarray)]))
    read = rules(lambda given: given.fish[0])
    assert numba.typeof(Swapped(first, second)) != numba.typeof(other(first, second))
    assert read(Swapped(first, second)) == 10.0
    assert read(other(first, second)) == 0.0


def test_its_name_is_short_however_many_fields_there_are():
    kind = numba.typeof(small())
    assert len(kind.name) < 40 < len(kind.fields.name)


def test_a_field_that_is_not_there_is_refused():
    with pytest.raises(TypingError, match="salt"):
        rules(lambda given: given.salt)(small())


@numba.njit
def handed_back(given):
    return given.pair


def test_an_array_that_is_handed_back_lives_on():
    given = small()
    array = handed_back(given)
    owner = weakref.ref(given.pair.base)
    del given
    gc.collect()
    assert owner() is not None
    assert array.sum() == sum(range(25))


def test_nothing_is_held_after_a_call():
    given = small()
    everything(given, np.zeros(14))
    seen = weakref.ref(given.pair.base)
    del given
    gc.collect()
    assert seen() is None


def test_a_rule_takes_one_number_for_it():
    """What a call costs: by value the tuple is some sixty numbers."""
    deeper.compile((numba.typeof(small()), types.intp))
    for text in deeper.inspect_llvm().values():
        head = next(line for line in text.splitlines() if line.startswith("define"))
        assert head.count("arg.given") == 1, head
