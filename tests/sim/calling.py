"""How tests call a rule: rules have no wrapper of their own, so each gets a small caller."""

from __future__ import annotations

import os
from collections.abc import Callable
from functools import cache
from typing import Any

import numba

COMPILED = os.environ.get("NUMBA_DISABLE_JIT", "0") in ("", "0")


@cache
def _caller(rule: Callable[..., Any], count: int) -> Callable[..., Any]:
    names = ", ".join(f"a{k}" for k in range(count))
    space: dict[str, Any] = {"rule": rule}
    exec(f"def caller({names}):\n    return rule({names})", space)
    compiled: Callable[..., Any] = numba.njit(nogil=True, error_model="numpy", _nrt=False)(
        space["caller"]
    )
    return compiled


def call(rule: Callable[..., Any], *arguments: Any) -> Any:
    """Call a rule with the arguments it takes, compiled or not."""
    if not COMPILED:
        return rule(*arguments)
    return _caller(rule, len(arguments))(*arguments)
