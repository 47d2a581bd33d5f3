"""Sixteen float32 numbers at once: one vector register of the widest kind, or two or four of a narrower one.

The compiler makes vector instructions of a loop over lanes only when it can prove a dozen things about it, and stops without a
word when it cannot; code on lanes is vector code by its type. Such numbers live in registers and are stored by `store` alone.
Operators + - * / and `abs` work between lanes and between lanes and float32.

In plain Python (compilation switched off) lanes are NumPy arrays of sixteen float32, and every function here takes them. What is
not a number has no meaning here: compiled limits replace it, NumPy's pass it on.
"""

from __future__ import annotations

import operator

import numpy as np
from llvmlite import ir
from numba.core import cgutils, types
from numba.core.typing.templates import ConcreteTemplate, infer_global, signature
from numba.extending import intrinsic, lower_builtin, models, overload, register_model

LANES = 16
_FLOAT = ir.FloatType()
_VECTOR = ir.VectorType(_FLOAT, LANES)
_INDEX = ir.IntType(32)


class LanesType(types.Type):
    """Type of sixteen float32 numbers in compiled code."""

    def __init__(self):
        super().__init__(name="lanes")


lanes = LanesType()


@register_model(LanesType)
class _Model(models.PrimitiveModel):
    def __init__(self, manager, kind):
        super().__init__(manager, kind, _VECTOR)


def _splat(builder, number):
    """The same number in every lane."""
    one = builder.insert_element(ir.Constant(_VECTOR, ir.Undefined), number, _INDEX(0))
    return builder.shuffle_vector(one, ir.Constant(_VECTOR, ir.Undefined), ir.Constant(ir.VectorType(_INDEX, LANES), [0] * LANES))


def _as_vector(builder, kind, value):
    return value if kind == lanes else _splat(builder, value)


def _call(builder, name, arguments):
    """A function of the compiler's own from lanes to lanes."""
    kind = ir.FunctionType(_VECTOR, [_VECTOR] * len(arguments))
    return builder.call(cgutils.get_or_insert_function(builder.module, kind, f"{name}.v{LANES}f32"), arguments)


def _register(function, make):
    """Teach the compiler an operator of two arguments, each lanes or float32 but not both float32."""
    pairs = [(lanes, lanes), (lanes, types.float32), (types.float32, lanes)]

    @infer_global(function)
    class _Rule(ConcreteTemplate):
        cases = [signature(lanes, *pair) for pair in pairs]

    def lower(context, builder, signature, arguments):
        return make(builder, *(_as_vector(builder, kind, value) for kind, value in zip(signature.args, arguments)))

    for pair in pairs:
        lower_builtin(function, *pair)(lower)


_register(operator.add, lambda builder, a, b: builder.fadd(a, b))
_register(operator.sub, lambda builder, a, b: builder.fsub(a, b))
_register(operator.mul, lambda builder, a, b: builder.fmul(a, b))
_register(operator.truediv, lambda builder, a, b: builder.fdiv(a, b))


@infer_global(abs)
class _Abs(ConcreteTemplate):
    cases = [signature(lanes, lanes)]


@lower_builtin(abs, LanesType)
def _lower_abs(context, builder, signature, arguments):
    return _call(builder, "llvm.fabs", arguments)


def _address(context, builder, kind, array, at):
    return builder.bitcast(builder.gep(context.make_array(kind)(context, builder, value=array).data, [at]), _VECTOR.as_pointer())


def _is_flat(array) -> bool:
    """Whether it is what `load` and `store` may touch: float32, one number beside the other."""
    return isinstance(array, types.Array) and array.dtype == types.float32 and array.ndim == 1 and array.layout == "C"


@intrinsic
def _load(typing, array, at):
    if not _is_flat(array):
        return None

    def build(context, builder, signature, arguments):
        vector = builder.load(_address(context, builder, signature.args[0], *arguments))
        vector.align = 4
        return vector

    return lanes(array, types.intp), build


@intrinsic
def _store(typing, array, at, value):
    if not _is_flat(array):
        return None

    def build(context, builder, signature, arguments):
        array, at, value = arguments
        builder.store(value, _address(context, builder, signature.args[0], array, at), align=4)
        return context.get_dummy_value()

    return types.void(array, types.intp, lanes), build


@intrinsic
def _numbers(typing):
    def build(context, builder, signature, arguments):
        return ir.Constant(_VECTOR, [float(lane) for lane in range(LANES)])

    return lanes(), build


@intrinsic
def _all(typing, number):
    return lanes(types.float32), lambda context, builder, signature, arguments: _splat(builder, arguments[0])


@intrinsic
def _number(typing, array, at):
    if not _is_flat(array):
        return None

    def build(context, builder, signature, arguments):
        array, at = arguments
        data = context.make_array(signature.args[0])(context, builder, value=array).data
        return builder.load(builder.gep(data, [at]))

    return types.float32(array, types.intp), build


@intrinsic
def _first(typing, value):
    return types.float32(lanes), lambda context, builder, signature, arguments: builder.extract_element(arguments[0], _INDEX(0))


@intrinsic
def _root(typing, value):
    def build(context, builder, signature, arguments):
        return _call(builder, "llvm.sqrt", arguments)

    return lanes(lanes), build


@intrinsic
def _above(typing, value, limit, yes, no):
    def build(context, builder, signature, arguments):
        value, limit, yes, no = (_as_vector(builder, kind, each) for kind, each in zip(signature.args, arguments))
        return builder.select(builder.fcmp_ordered(">", value, limit), yes, no)

    kinds = (lanes if each == lanes else types.float32 for each in (value, limit, yes, no))
    return lanes(*kinds), build


@intrinsic
def _rotate(typing, value, by):
    if not isinstance(by, types.IntegerLiteral):
        return None
    steps = by.literal_value

    def build(context, builder, signature, arguments):
        order = ir.Constant(ir.VectorType(_INDEX, LANES), [(lane + steps) % LANES for lane in range(LANES)])
        return builder.shuffle_vector(arguments[0], arguments[0], order)

    return lanes(lanes, by), build


def load(array, at):
    """Sixteen numbers of a float32 array from index `at` on (>= 0; not checked)."""
    return array[at : at + LANES].copy()


def number(array, at):
    """The number at index `at` of a float32 array (>= 0; not checked, so that no code for negative ones is made)."""
    return array[at]


def store(array, at, value):
    """Sixteen numbers into a float32 array from index `at` on (>= 0; not checked)."""
    array[at : at + LANES] = value


def numbers():
    """0, 1, 2 ... 15."""
    return np.arange(LANES, dtype=np.float32)


def in_all(number):
    """One float32 number in every lane."""
    return np.full(LANES, number, dtype=np.float32)


def first(value):
    """The number in the first lane."""
    return value[0]


def root(value):
    """Square root, of lanes or of a number."""
    return np.sqrt(value)


def where_above(value, limit, yes, no):
    """`yes` where value > limit, else `no` (lanes where value is lanes): a choice without a branch."""
    return np.where(value > limit, np.float32(yes), np.float32(no))


def at_most(value, limit):
    """The smaller one of value (lanes, or a number) and a float32 limit."""
    return np.minimum(value, limit)


def at_least(value, limit):
    """The larger one of value (lanes, or a number) and a float32 limit."""
    return np.maximum(value, limit)


def rotate(value, by):
    """Lane k gets the number of lane k + by (a literal number), round the end."""
    return np.roll(value, -by)


@overload(load)
def _load_compiled(array, at):
    return lambda array, at: _load(array, at)


@overload(number)
def _number_compiled(array, at):
    return lambda array, at: _number(array, at)


@overload(store)
def _store_compiled(array, at, value):
    return lambda array, at, value: _store(array, at, value)


@overload(numbers)
def _numbers_compiled():
    return lambda: _numbers()


@overload(in_all)
def _in_all_compiled(number):
    return lambda number: _all(number)


@overload(first)
def _first_compiled(value):
    return lambda value: _first(value)


@overload(root)
def _root_compiled(value):
    return (lambda value: _root(value)) if value == lanes else (lambda value: np.sqrt(value))


@overload(where_above)
def _where_above_compiled(value, limit, yes, no):
    return lambda value, limit, yes, no: _above(value, limit, yes, no)


@overload(at_most)
def _at_most_compiled(value, limit):
    if value == lanes:
        return lambda value, limit: _above(value, limit, limit, value)
    return lambda value, limit: min(value, limit)


@overload(at_least)
def _at_least_compiled(value, limit):
    if value == lanes:
        return lambda value, limit: _above(value, limit, value, limit)
    return lambda value, limit: max(value, limit)


@overload(rotate, prefer_literal=True)
def _rotate_compiled(value, by):
    return lambda value, by: _rotate(value, by)
