"""What the kernel needs of the machine: bits of a word, arrays without reference counts.

``inner`` makes a function that is folded into its caller: calling overhead and reference
counts would otherwise be most of the time (docs/engine.md). ``apart`` makes one that is called
seldom and compiled by itself; it begins with ``stay_apart()``. ``entry`` makes one that Python
calls; it frees the lock and is kept on disk.
"""

# mypy: ignore-errors
# numba infers the types of everything here.
from __future__ import annotations

import numpy as np
from llvmlite import ir
from numba import njit, types
from numba.core import cgutils
from numba.extending import intrinsic

inner = njit(forceinline=True, no_cpython_wrapper=True, error_model="numpy")
# forceinline=False: the option is handed down from caller to callee where it is not set.
apart = njit(forceinline=False, no_cpython_wrapper=True, error_model="numpy")
entry = njit(nogil=True, cache=True, error_model="numpy")

ONE = np.uint64(1)
ZERO = np.uint64(0)


@intrinsic
def popcount(typingctx, mask):
    """Count the bits of a uint64; an int64."""

    def codegen(context, builder, signature, args):
        return builder.ctpop(args[0])

    return types.int64(types.uint64), codegen


@intrinsic
def lowest(typingctx, mask):
    """Give the number of the lowest bit of a uint64 that is not 0; an int64."""

    def codegen(context, builder, signature, args):
        return builder.cttz(args[0], ir.Constant(ir.IntType(1), 1))

    return types.int64(types.uint64), codegen


@intrinsic
def highest(typingctx, mask):
    """Give the number of the highest bit of a uint64 that is not 0; an int64."""

    def codegen(context, builder, signature, args):
        leading = builder.ctlz(args[0], ir.Constant(ir.IntType(1), 1))
        return builder.sub(ir.Constant(ir.IntType(64), 63), leading)

    return types.int64(types.uint64), codegen


@intrinsic
def stay_apart(typingctx):
    """Keep the function in which it stands from being folded into its callers.

    Else LLVM may fold it in where it is called once, and optimise it again at every floor
    above.
    """

    def codegen(context, builder, signature, args):
        builder.function.attributes.add("noinline")
        return context.get_dummy_value()

    return types.void(), codegen


@intrinsic
def bare(typingctx, array):
    """Give the same array without an owner, so that no reference is ever counted.

    The caller must keep the array alive.
    """

    def codegen(context, builder, signature, args):
        kind = signature.args[0]
        view = context.make_array(kind)(context, builder, args[0])
        view.meminfo = cgutils.get_null_value(view.meminfo.type)
        view.parent = cgutils.get_null_value(view.parent.type)
        return view._getvalue()

    return array(array), codegen


@inner
def bit(number):
    """Give the uint64 with one bit."""
    return ONE << np.uint64(number)


@inner
def nth_bit(mask, nth):
    """Give the number of the nth bit (from 0) of a mask that has more than nth."""
    for _ in range(nth):
        mask &= mask - ONE
    return lowest(mask)
