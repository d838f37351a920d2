"""Tuples of arrays that compiled rules get as one address.

numba passes a named tuple by value: every array of it as seven numbers or more, at each call. With
the sixty arrays of a run that is what compiling the rules takes longest over, and what a call of a
short rule costs. A class decorated with `by_reference` is passed as the address of a table of its
arrays. The table is filled where Python calls a compiled function and lives until that returns; in
between nothing writes to it. What the rules change is in the arrays.

Uncompiled (`NUMBA_DISABLE_JIT=1`) the class is the named tuple that it is.
"""

from __future__ import annotations

import hashlib
from typing import Any, TypeVar

from numba.core import cgutils, config, types
from numba.core.boxing import unbox_tuple
from numba.core.datamodel.models import PrimitiveModel
from numba.core.imputils import impl_ret_borrowed
from numba.core.typing.templates import AttributeTemplate
from numba.extending import (
    NativeValue,
    infer_getattr,
    lower_getattr_generic,
    register_model,
    typeof_impl,
    unbox,
)

C = TypeVar("C", bound=type)


class AddressOf(types.Type):
    """The compiler's type of a named tuple that is passed as an address.

    It goes by the class and a digest of its fields, by name and type. Spelt out they are thousands
    of letters, and would stand in the name of every compiled function.

    Parameters
    ----------
    fields
        The type of the same tuple, passed by value.
    """

    def __init__(self, fields: types.NamedTuple) -> None:
        self.fields = fields
        made = fields.instance_class
        whole = "\n".join((made.__module__, made.__qualname__, *fields.fields, fields.name))
        digest = hashlib.sha256(whole.encode()).hexdigest()[:16]
        super().__init__(name=f"{made.__name__}@{digest}")

    def place_of(self, name: str) -> int:
        """Return at which place a field stands."""
        place: int = self.fields.fields.index(name)
        return place


@register_model(AddressOf)
class _Address(PrimitiveModel):
    def __init__(self, models: Any, kind: AddressOf) -> None:
        super().__init__(models, kind, models.lookup(kind.fields).get_value_type().as_pointer())


@infer_getattr
class _Fields(AttributeTemplate):
    key = AddressOf

    def generic_resolve(self, kind: AddressOf, name: str) -> Any:  # type: ignore[override]
        """Return the type of a field; None where there is none of this name."""
        return kind.fields.types[kind.place_of(name)] if name in kind.fields.fields else None


@lower_getattr_generic(AddressOf)
def _read(context: Any, builder: Any, kind: AddressOf, address: Any, name: str) -> Any:
    """Load a field; of an array, each part by itself that is not known while compiling."""
    place = kind.place_of(name)
    field = kind.fields.types[place]
    at = cgutils.gep_inbounds(builder, address, 0, place)
    if not isinstance(field, types.Array):
        return impl_ret_borrowed(context, builder, field, _load(builder, at))
    model = context.data_model_manager[field]
    names = model._fields

    def part(which: str, *axis: int) -> Any:
        return _load(builder, cgutils.gep_inbounds(builder, at, 0, names.index(which), *axis))

    item = context.get_abi_sizeof(context.get_data_type(field.dtype))
    size = context.get_constant(types.intp, item)
    shape = [part("shape", axis) for axis in range(field.ndim)]
    strides = [part("strides", axis) for axis in range(field.ndim)]
    if field.layout == "C":
        strides[-1:] = [size][: field.ndim]
    number = context.get_value_type(types.intp)
    parts = {
        "data": part("data"),
        "nitems": part("nitems"),
        "itemsize": size,
        "shape": cgutils.pack_array(builder, shape, ty=number),
        "strides": cgutils.pack_array(builder, strides, ty=number),
    }
    if context.enable_nrt:  # else nobody counts who holds it
        parts |= {"meminfo": part("meminfo"), "parent": part("parent")}
    array = cgutils.get_null_value(model.get_value_type())
    for which, value in parts.items():
        array = builder.insert_value(array, value, names.index(which))
    return impl_ret_borrowed(context, builder, field, array)


def _load(builder: Any, at: Any) -> Any:
    """Load from the table, and tell the optimiser that it never changes while rules run."""
    value = builder.load(at)
    value.set_metadata("invariant.load", builder.module.add_metadata([]))
    return value


@unbox(AddressOf)
def _fill(kind: AddressOf, given: Any, c: Any) -> NativeValue:
    """Write the table, in the frame of the call from Python; it calls what it does not inline."""
    by_value = unbox_tuple(kind.fields, given, c)
    table = cgutils.alloca_once_value(c.builder, by_value.value)
    return NativeValue(table, cleanup=by_value.cleanup, is_error=by_value.is_error)


def by_reference(made: C) -> C:
    """Have the named tuples of a class passed to compiled functions as an address.

    Parameters
    ----------
    made
        A class of named tuples. Compiled functions read its fields by name, and do no more with it.

    Returns
    -------
    type
        The same class.
    """
    if not getattr(config, "DISABLE_JIT", 0):
        typeof_impl.register(made)(_kind_of)
    return made


def _kind_of(given: Any, c: Any) -> AddressOf:
    return AddressOf(types.NamedTuple([typeof_impl(field, c) for field in given], type(given)))
