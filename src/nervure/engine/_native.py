"""What the kernel needs of the machine: bits of a word, and arrays as bare places in memory.

``inner`` makes a function that is folded into its caller: calling overhead and reference
counts would otherwise be most of the time (docs/engine.md). ``apart`` makes one that is called
seldom and compiled by itself; it begins with ``stay_apart()``. ``entry`` makes one that Python
calls; it frees the lock and is kept on disk.

A `Flat` is an array without owner, length or shape: one address. It is read and written by
places that are not negative, and nothing is checked.
"""

# mypy: ignore-errors
# numba infers the types of everything here.
from __future__ import annotations

import operator

import numpy as np
from llvmlite import ir
from numba import njit, types
from numba.core import cgutils
from numba.core.codegen import JITCodeLibrary
from numba.core.compiler import Compiler
from numba.core.registry import cpu_target
from numba.core.typing.templates import AbstractTemplate, infer_global, signature
from numba.extending import intrinsic, lower_builtin, models, register_model


class _Folded(JITCodeLibrary):
    """Code that is only ever linked into an entry: optimised and made there, once.

    numba would do both at every floor of calls anew.
    """

    @property
    def codegen(self):
        return _WithoutEnvironments(self._codegen)

    def _optimize_final_module(self):
        pass

    def _finalize_final_module(self):
        self._finalize_dynamic_globals()
        self._finalized = True

    def get_pointer_to_function(self, name):
        self._ensure_finalized()
        return 0


class _WithoutEnvironments:
    """The code generator, but for the environments of functions that are not there yet."""

    def __init__(self, codegen):
        self._codegen = codegen

    def __getattr__(self, name):
        return getattr(self._codegen, name)

    def set_env(self, name, environment):
        pass


class _FoldedCompiler(Compiler):
    """numba's compiler, with `_Folded` code."""

    def __init__(self, typingctx, targetctx, library, args, return_type, flags, variables):
        super().__init__(typingctx, targetctx, library, args, return_type, flags, variables)
        if library is None:
            self.state.library = _Folded(self.state.targetctx.codegen(), "folded")
            self.state.library.enable_object_caching()


# Only entries are ever called from outside: no wrappers, which would be compiled for nothing.
_alone = {
    "no_cpython_wrapper": True,
    "no_cfunc_wrapper": True,
    "error_model": "numpy",
    "pipeline_class": _FoldedCompiler,
}
inner = njit(forceinline=True, **_alone)
# forceinline=False: the option is handed down from caller to callee where it is not set.
apart = njit(forceinline=False, **_alone)
entry = njit(nogil=True, cache=True, no_cfunc_wrapper=True, error_model="numpy")

ONE = np.uint64(1)
ZERO = np.uint64(0)


class Flat(types.Type):
    """The type of a bare array.

    ``fixed``: nobody writes to it while an entry runs, so that the compiler may read a place
    once and for all.
    """

    def __init__(self, dtype, fixed):
        self.dtype = dtype
        self.fixed = fixed
        super().__init__(name=f"Flat({dtype}, {'fixed' if fixed else 'free'})")


register_model(Flat)(models.PointerModel)


@infer_global(operator.getitem)
class _ReadPlace(AbstractTemplate):
    def generic(self, args, keywords):
        flat, _ = args
        if isinstance(flat, Flat):
            return signature(flat.dtype, flat, types.intp)
        return None


@infer_global(operator.setitem)
class _WritePlace(AbstractTemplate):
    def generic(self, args, keywords):
        flat, _, _ = args
        if isinstance(flat, Flat) and not flat.fixed:
            return signature(types.none, flat, types.intp, flat.dtype)
        return None


def _note(builder, instruction, flat):
    """Tell LLVM that arrays of unlike types never overlap, and what nobody writes to."""
    module = builder.module
    whole = ir.IntType(64)
    if flat.fixed:
        instruction.set_metadata("invariant.load", module.add_metadata([]))
        return
    start = module.add_metadata(["flat arrays"])
    kind = module.add_metadata([str(flat.dtype), start, ir.Constant(whole, 0)])
    instruction.set_metadata("tbaa", module.add_metadata([kind, kind, ir.Constant(whole, 0)]))


@lower_builtin(operator.getitem, Flat, types.intp)
def _read_place(context, builder, sig, args):
    value = builder.load(builder.gep(args[0], [args[1]], inbounds=True))
    _note(builder, value, sig.args[0])
    return value


@lower_builtin(operator.setitem, Flat, types.intp, types.Any)
def _write_place(context, builder, sig, args):
    _note(
        builder,
        builder.store(args[2], builder.gep(args[0], args[1:2], inbounds=True)),
        sig.args[0],
    )
    return context.get_dummy_value()


def _flat_of(fixed):
    @intrinsic
    def flat_of(typingctx, array):
        def codegen(context, builder, signature, args):
            if isinstance(signature.args[0], Flat):
                return args[0]
            return context.make_array(signature.args[0])(context, builder, args[0]).data

        if isinstance(array, Flat):
            return array(array), codegen
        if array.layout != "C":
            raise TypeError("a bare array lies in one piece")
        return Flat(array.dtype, fixed)(array), codegen

    return flat_of


bare = _flat_of(fixed=False)
"""Give an array as a `Flat`; the caller must keep the array alive."""

bare_fixed = _flat_of(fixed=True)
"""Give an array that nobody writes to while the entry runs, as a `Flat`."""


@intrinsic
def onward(typingctx, flat, places):
    """Give the rest of a `Flat` from a place on."""

    def codegen(context, builder, signature, args):
        return builder.gep(args[0], [args[1]], inbounds=True)

    return flat(flat, types.intp), codegen


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


@inner
def bit(number):
    """Give the uint64 with one bit."""
    return ONE << np.uint64(number)


@intrinsic
def _deposit(typingctx, bits, mask):
    """Put low bits to the places of a mask, one after the other: an order of the machine."""

    def codegen(context, builder, signature, args):
        word = ir.IntType(64)
        kind = ir.FunctionType(word, (word, word))
        name = "llvm.x86.bmi.pdep.64"
        return builder.call(cgutils.get_or_insert_function(builder.module, kind, name), args)

    return types.uint64(types.uint64, types.uint64), codegen


_, _processor, _abilities = cpu_target.target_context.codegen().magic_tuple()
# The first two families that have the order carry it out bit by bit.
CAN_DEPOSIT = "+bmi2" in _abilities and _processor not in ("znver1", "znver2", "bdver4")

if CAN_DEPOSIT:

    @inner
    def nth_bit(mask, nth):
        """Give the number of the nth bit (from 0) of a mask that has more than nth."""
        return lowest(_deposit(ONE << np.uint64(nth), mask))

else:

    @inner
    def nth_bit(mask, nth):
        """Give the number of the nth bit (from 0) of a mask that has more than nth."""
        for _ in range(nth):
            mask &= mask - ONE
        return lowest(mask)
