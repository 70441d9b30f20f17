"""Eight numbers at once: the vector type that the compiled march is written in, and the only door to numba.

A kernel reads like one body's algebra and means eight bodies': each value is one hardware vector, each of its
lanes belongs to another march, and no operation mixes lanes. Explicit, because LLVM's own vectoriser gives up
where arrays might overlap. To a reader and to the type checker a vector is a float array of eight.
"""

import operator
from collections.abc import Callable
from typing import Any, TypeVar

from llvmlite import ir
from numba import njit, types
from numba.extending import intrinsic, lower_builtin, models, register_model, type_callable

from optitip.arrays import BoolArray, FloatArray, IntArray

WIDTH = 8

_Function = TypeVar("_Function", bound=Callable[..., Any])

_NUMBERS = ir.VectorType(ir.DoubleType(), WIDTH)
_WHOLES = ir.VectorType(ir.IntType(64), WIDTH)
_FLAGS = ir.VectorType(ir.IntType(1), WIDTH)
# fused multiply-add may be used where the processor has it; nothing else is relaxed, NaN least of all
_FUSED = ("contract",)


def compiled(function: _Function) -> _Function:
    """Return the function compiled when first called; inner functions carry no cache of their own."""
    result: _Function = njit(function)
    return result


def compiled_once(function: _Function) -> _Function:
    """Return the function compiled when first called and kept in numba's cache, where that has a place."""
    result: _Function
    try:
        result = njit(cache=True)(function)
    except RuntimeError:
        # neither the package's folder nor the user's can be written: compiled afresh in every process
        result = njit(function)
    return result


class Numbers(types.Type):  # type: ignore[misc]
    """A vector of float64."""

    def __init__(self) -> None:
        """Name the type."""
        super().__init__(name="Numbers")


class Wholes(types.Type):  # type: ignore[misc]
    """A vector of int64."""

    def __init__(self) -> None:
        """Name the type."""
        super().__init__(name="Wholes")


class Flags(types.Type):  # type: ignore[misc]
    """A vector of truth values."""

    def __init__(self) -> None:
        """Name the type."""
        super().__init__(name="Flags")


_numbers, _wholes, _flags = Numbers(), Wholes(), Flags()


def _register(kind: type, shape: ir.Type) -> None:
    class Model(models.PrimitiveModel):  # type: ignore[misc]
        def __init__(self, manager: Any, frontend: Any) -> None:
            super().__init__(manager, frontend, shape)

    register_model(kind)(Model)


for _kind, _shape in ((Numbers, _NUMBERS), (Wholes, _WHOLES), (Flags, _FLAGS)):
    _register(_kind, _shape)


def _operation(sign: Any, kind: Any, result: Any, build: Callable[[Any, Any, Any], Any]) -> None:
    """Teach numba one operator between two vectors of a kind."""

    def typed(_: Any) -> Any:
        def typer(left: Any, right: Any) -> Any:
            return result if isinstance(left, kind) and isinstance(right, kind) else None

        return typer

    def lowered(_: Any, builder: Any, __: Any, values: Any) -> Any:
        return build(builder, *values)

    type_callable(sign)(typed)
    lower_builtin(sign, kind, kind)(lowered)


def _made(name: str, *, compared: str = "", fused: bool = False) -> Callable[[Any, Any, Any], Any]:
    """Return the builder's own operation of that name, on two vectors."""

    def build(builder: Any, left: Any, right: Any) -> Any:
        method = getattr(builder, name)
        if compared:
            return method(compared, left, right)
        return method(left, right, flags=_FUSED) if fused else method(left, right)

    return build


for _sign, _name in ((operator.add, "fadd"), (operator.sub, "fsub"), (operator.mul, "fmul")):
    _operation(_sign, Numbers, _numbers, _made(_name, fused=True))
_operation(operator.truediv, Numbers, _numbers, _made("fdiv"))
for _sign, _name in ((operator.gt, ">"), (operator.ge, ">="), (operator.lt, "<"), (operator.le, "<=")):
    _operation(_sign, Numbers, _flags, _made("fcmp_ordered", compared=_name))
_operation(operator.eq, Numbers, _flags, _made("fcmp_ordered", compared="=="))
_operation(operator.add, Wholes, _wholes, _made("add"))
_operation(operator.mul, Wholes, _wholes, _made("mul"))
_operation(operator.and_, Flags, _flags, _made("and_"))
_operation(operator.or_, Flags, _flags, _made("or_"))


def _place(context: Any, builder: Any, kind: Any, array: Any, row: Any, shape: Any) -> Any:
    data = context.make_array(kind)(context, builder, array).data
    return builder.gep(builder.bitcast(data, shape.as_pointer()), [row])


def _row(context: Any, builder: Any, signature: Any, values: Any) -> Any:
    return context.cast(builder, values[1], signature.args[1], types.intp)


def _loader(result: Any, shape: Any) -> Any:
    def load_any(_: Any, array: Any, row: Any) -> Any:
        def build(context: Any, builder: Any, signature: Any, values: Any) -> Any:
            row = _row(context, builder, signature, values)
            value = builder.load(_place(context, builder, signature.args[0], values[0], row, shape))
            value.align = 64
            return value

        return result(array, row), build

    return load_any


def _storer(shape: Any) -> Any:
    def store_any(_: Any, array: Any, row: Any, value: Any) -> Any:
        def build(context: Any, builder: Any, signature: Any, values: Any) -> Any:
            row = _row(context, builder, signature, values)
            place = _place(context, builder, signature.args[0], values[0], row, shape)
            builder.store(values[2], place).align = 64
            return context.get_dummy_value()

        return types.void(array, row, value), build

    return store_any


def _repeated(builder: Any, value: Any, shape: Any) -> Any:
    one = builder.insert_element(ir.Constant(shape, ir.Undefined), value, ir.Constant(ir.IntType(32), 0))
    mask = ir.Constant(ir.VectorType(ir.IntType(32), WIDTH), [0] * WIDTH)
    return builder.shuffle_vector(one, ir.Constant(shape, ir.Undefined), mask)


def _spread(_: Any, value: Any) -> Any:
    """Return a vector of one number."""

    def build(context: Any, builder: Any, signature: Any, values: Any) -> Any:
        number = context.cast(builder, values[0], signature.args[0], types.float64)
        return _repeated(builder, number, _NUMBERS)

    return _numbers(value), build


def _spread_whole(_: Any, value: Any) -> Any:
    """Return a vector of one whole number."""

    def build(context: Any, builder: Any, signature: Any, values: Any) -> Any:
        return _repeated(builder, context.cast(builder, values[0], signature.args[0], types.int64), _WHOLES)

    return _wholes(value), build


def _choose(_: Any, where: Any, first: Any, second: Any) -> Any:
    """Return ``first`` in the lanes that are true, else ``second``."""

    def build(__: Any, builder: Any, ___: Any, values: Any) -> Any:
        return builder.select(*values)

    return first(where, first, second), build


def _truncated(_: Any, value: Any) -> Any:
    """Return the numbers cut to whole ones; they must be finite and small."""

    def build(__: Any, builder: Any, ___: Any, values: Any) -> Any:
        return builder.fptosi(values[0], _WHOLES)

    return _wholes(value), build


def _as_numbers(_: Any, value: Any) -> Any:
    """Return whole numbers as numbers."""

    def build(__: Any, builder: Any, ___: Any, values: Any) -> Any:
        return builder.sitofp(values[0], _NUMBERS)

    return _numbers(value), build


def _ones_where(_: Any, value: Any) -> Any:
    """Return whole numbers: 1 where the flag is set."""

    def build(__: Any, builder: Any, ___: Any, values: Any) -> Any:
        return builder.zext(values[0], _WHOLES)

    return _wholes(value), build


def _anywhere(_: Any, value: Any) -> Any:
    """Return whether any lane's flag is set."""

    def build(__: Any, builder: Any, ___: Any, values: Any) -> Any:
        bits = builder.bitcast(values[0], ir.IntType(WIDTH))
        return builder.icmp_unsigned("!=", bits, ir.Constant(ir.IntType(WIDTH), 0))

    return types.boolean(value), build


def _declared(builder: Any, name: str, kind: Any) -> Any:
    return builder.module.globals.get(name) or ir.Function(builder.module, kind, name)


def _root(_: Any, value: Any) -> Any:
    """Return the square roots."""

    def build(__: Any, builder: Any, ___: Any, values: Any) -> Any:
        kind = ir.FunctionType(_NUMBERS, [_NUMBERS])
        return builder.call(_declared(builder, f"llvm.sqrt.v{WIDTH}f64", kind), [values[0]])

    return _numbers(value), build


def _gather(_: Any, address: Any, offset: Any) -> Any:
    """Return the number each lane finds at its own address plus ``offset`` bytes, the same for all."""

    def build(context: Any, builder: Any, signature: Any, values: Any) -> Any:
        shift = context.cast(builder, values[1], signature.args[1], types.int64)
        places = builder.add(values[0], _repeated(builder, shift, _WHOLES))
        pointers = ir.VectorType(ir.PointerType(), WIDTH)
        kind = ir.FunctionType(_NUMBERS, [pointers, ir.IntType(32), _FLAGS, _NUMBERS])
        name = f"llvm.masked.gather.v{WIDTH}f64.v{WIDTH}p0"
        called = _declared(builder, name, kind)
        everywhere = ir.Constant(_FLAGS, [1] * WIDTH)
        nothing = ir.Constant(_NUMBERS, ir.Undefined)
        found = builder.inttoptr(places, pointers)
        return builder.call(called, [found, ir.Constant(ir.IntType(32), 8), everywhere, nothing])

    return _numbers(address, offset), build


def _number_at(_: Any, address: Any) -> Any:
    """Return the one number at an address."""

    def build(context: Any, builder: Any, signature: Any, values: Any) -> Any:
        place = context.cast(builder, values[0], signature.args[0], types.int64)
        return builder.load(builder.inttoptr(place, ir.DoubleType().as_pointer()))

    return types.float64(address), build


def _entry(_: Any, index: Any, place: Any) -> Any:
    """Return an entry of an index; a place from the end, as Python has it, isn't looked for."""

    def build(context: Any, builder: Any, signature: Any, values: Any) -> Any:
        place = _row(context, builder, signature, values)
        data = context.make_array(signature.args[0])(context, builder, values[0]).data
        return builder.load(builder.gep(data, [place]))

    return types.int64(index, place), build


def _number(_: Any, array: Any, place: Any) -> Any:
    """Return an entry of an array in flat order; a place from the end isn't looked for."""

    def build(context: Any, builder: Any, signature: Any, values: Any) -> Any:
        place = _row(context, builder, signature, values)
        data = context.make_array(signature.args[0])(context, builder, values[0]).data
        return builder.load(builder.gep(data, [place]))

    return types.float64(array, place), build


def _put_number(_: Any, address: Any, value: Any) -> Any:
    """Write one number at an address."""

    def build(context: Any, builder: Any, signature: Any, values: Any) -> Any:
        place = context.cast(builder, values[0], signature.args[0], types.int64)
        number = context.cast(builder, values[1], signature.args[1], types.float64)
        builder.store(number, builder.inttoptr(place, ir.DoubleType().as_pointer()))
        return context.get_dummy_value()

    return types.void(address, value), build


def _crossed(builder: Any, rows: list[Any]) -> list[Any]:
    """Return eight vectors transposed, by halves exchanged at distance 1, 2 and 4."""
    for step in (1, 2, 4):
        for low in (index for index in range(WIDTH) if not index & step):
            first, second = rows[low], rows[low + step]
            stay = [at if not at & step else WIDTH + at - step for at in range(WIDTH)]
            move = [at + step if not at & step else WIDTH + at for at in range(WIDTH)]
            for row, picked in ((low, stay), (low + step, move)):
                mask = ir.Constant(ir.VectorType(ir.IntType(32), WIDTH), picked)
                rows[row] = builder.shuffle_vector(first, second, mask)
    return rows


def _store_across(_: Any, array: Any, row: Any, targets: Any, target: Any, offset: Any) -> Any:
    """Write eight rows of ``array`` from ``row`` on, each lane's eight numbers to an address of its own.

    The addresses stand in row ``target`` of ``targets``; ``offset`` [bytes] is added to each.
    """

    def build(context: Any, builder: Any, signature: Any, values: Any) -> Any:
        first = _row(context, builder, signature, values)
        place = _place(context, builder, signature.args[0], values[0], first, _NUMBERS)
        rows = []
        for index in range(WIDTH):
            value = builder.load(builder.gep(place, [ir.Constant(ir.IntType(64), index)]))
            value.align = 64
            rows.append(value)
        where = context.cast(builder, values[3], signature.args[3], types.intp)
        addresses = builder.load(_place(context, builder, signature.args[2], values[2], where, _WHOLES))
        addresses.align = 64
        shift = context.cast(builder, values[4], signature.args[4], types.int64)
        for lane, value in enumerate(_crossed(builder, rows)):
            address = builder.extract_element(addresses, ir.Constant(ir.IntType(32), lane))
            pointer = builder.inttoptr(builder.add(address, shift), _NUMBERS.as_pointer())
            builder.store(value, pointer).align = 8
        return context.get_dummy_value()

    return types.void(array, row, targets, target, offset), build


# rows of a 64-byte aligned array (rows, WIDTH), read and written as one vector each; no bounds are checked
load: Callable[[FloatArray, int], FloatArray] = intrinsic(_loader(_numbers, _NUMBERS))
load_whole: Callable[[IntArray, int], IntArray] = intrinsic(_loader(_wholes, _WHOLES))
store: Callable[[FloatArray, int, FloatArray], None] = intrinsic(_storer(_NUMBERS))
store_across: Callable[[FloatArray, int, IntArray, int, int], None] = intrinsic(_store_across)
spread: Callable[[float], FloatArray] = intrinsic(_spread)
spread_whole: Callable[[int], IntArray] = intrinsic(_spread_whole)
choose: Callable[[BoolArray, FloatArray, FloatArray], FloatArray] = intrinsic(_choose)
truncated: Callable[[FloatArray], IntArray] = intrinsic(_truncated)
as_numbers: Callable[[IntArray], FloatArray] = intrinsic(_as_numbers)
ones_where: Callable[[BoolArray], IntArray] = intrinsic(_ones_where)
anywhere: Callable[[BoolArray], bool] = intrinsic(_anywhere)
root: Callable[[FloatArray], FloatArray] = intrinsic(_root)
gather: Callable[[IntArray, int], FloatArray] = intrinsic(_gather)
entry: Callable[[IntArray, int], int] = intrinsic(_entry)
number: Callable[[FloatArray, int], float] = intrinsic(_number)
number_at: Callable[[int], float] = intrinsic(_number_at)
put_number: Callable[[int, float], None] = intrinsic(_put_number)
