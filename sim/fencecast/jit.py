"""The one place for compiler options.

Every compiled function in the package is made by `compiled`; nobody else imports numba's decorators.

Options, and why:
- `fastmath` is a subset, never full: `contract` lets a*b+c become one fused instruction (measured 1.29 times on the look),
  `reassoc` and `arcp` let sums be reordered and divisions become reciprocals, `nsz` ignores the sign of zero. `nnan` and
  `ninf` are left out on purpose: with them isfinite(nan) is True.
- `error_model="numpy"` because a division by zero gives inf here, as in NumPy, and the test-and-raise of Python's model
  stops loops from being vectorised.
- `nogil` because crossings are spread over plain threads, each with rows of its own.
- Machine code is kept in a folder named by a hash of the sources, the versions and these options: numba's own key looks neither
  at callees in other files nor at options, so a stale cache would run yesterday's physics. The folder is given to our functions
  alone; numba's configuration, which is the whole process's, stays as the user has it.

Internals of numba are used here (the cache, `borrow`, `keep_alive`) and in lanes.py; pyproject.toml therefore limits its version.
"""

from __future__ import annotations

import os
import platform
import struct
import sys
from pathlib import Path

import numba
import numpy as np
from numba.core import caching, cgutils, types
from numba.extending import intrinsic, overload

from fencecast.sources import COMPILED, fingerprint

FASTMATH = {"contract", "nsz", "reassoc", "arcp"}
OPTIONS = {"nogil": True, "error_model": "numpy", "fastmath": FASTMATH}


def _cache_folder() -> Path:
    """Machine code goes to the user's cache folder (FENCECAST_CACHE, else XDG_CACHE_HOME, else ~/.cache)."""
    chosen = os.environ.get("FENCECAST_CACHE")
    base = Path(chosen) if chosen else Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache") / "fencecast"
    versions = (numba.__version__, sys.version_info[:3], platform.machine(), sorted(FASTMATH))
    return base / fingerprint(COMPILED, *versions)


def _usable_cache_folder() -> Path | None:
    """The cache folder, None when it cannot be made and written; compiling every time is slow but right, so no error."""
    try:
        folder = _cache_folder()
        folder.mkdir(parents=True, exist_ok=True)
        probe = folder / f".probe-{os.getpid()}"
        probe.write_text("")
        probe.unlink()
    except OSError:
        return None
    return folder


_FOLDER = _usable_cache_folder()


class _Locator(caching.InTreeCacheLocator):
    """Where one of our functions is kept."""

    def __init__(self, function, source):
        super().__init__(function, source)
        self._cache_path = str(_FOLDER / self.get_suitable_cache_subpath(source))


class _CacheFiles(caching.CompileResultCacheImpl):
    _locator_classes = [_Locator]


class _Cache(caching.FunctionCache):
    _impl_class = _CacheFiles


def _with_cache(dispatcher):
    """The same compiled function, kept in our folder: what `cache=True` does for numba's own folders."""
    if _FOLDER is not None and not numba.config.DISABLE_JIT:
        dispatcher._cache = _Cache(dispatcher.py_func)
    return dispatcher


def compiled(function):
    """Compile a scalar formula or a loop; `function.py_func` stays available as plain Python."""
    return _with_cache(numba.njit(**OPTIONS)(function))


def compiled_inline(function):
    """As `compiled`, but LLVM must inline it: for functions with one call site, or of a few lines, inside the crossing loop.

    A NamedTuple of arrays is passed as hundreds of loose words; inlined, none of them moves.
    """
    return _with_cache(numba.njit(forceinline=True, **OPTIONS)(function))


def _disown(context, builder, kind, value):
    """LLVM value of the same array without an owner; tuples are rebuilt element by element, scalars pass."""
    if isinstance(kind, types.BaseTuple):
        parts = [_disown(context, builder, k, v) for k, v in zip(kind, cgutils.unpack_tuple(builder, value))]
        return context.make_tuple(builder, kind, parts)
    if isinstance(kind, types.Array):
        free = context.make_array(kind)(context, builder, value=value)
        free.meminfo = cgutils.get_null_value(free.meminfo.type)
        free.parent = cgutils.get_null_value(free.parent.type)
        return free._getvalue()
    return value


@intrinsic
def _without_owner(typing_context, value):
    def build(context, builder, signature, arguments):
        return _disown(context, builder, signature.args[0], arguments[0])

    return value(value), build


def borrow(value):
    """An array, or a NamedTuple of arrays (nested too), without owners: numba then counts no references to them.

    Each count is an atomic operation, and the crossing loop would do dozens a look. In plain Python it is the value itself.
    The caller must keep the arrays alive meanwhile: arguments are, what it made itself needs `keep_alive` at the end.
    """
    return value


@overload(borrow)
def _borrow_compiled(value):
    return lambda value: _without_owner(value)


@intrinsic
def _used(typing_context, value):
    return types.void(value), lambda context, builder, signature, arguments: context.get_dummy_value()


def keep_alive(value):
    """Let arrays that were borrowed live until here: numba frees what a function made after its last use, and this is a use.

    It makes no machine code of its own.
    """


@overload(keep_alive)
def _keep_alive_compiled(value):
    return lambda value: _used(value)


@intrinsic
def _reinterpreted(typing_context, value):
    to = types.int64 if value == types.float64 else types.float64

    def build(context, builder, signature, arguments):
        return builder.bitcast(arguments[0], context.get_value_type(to))

    return to(value), build


def bits_of(number):
    """The 64 bits of a float64 as an integer."""
    return struct.unpack("<q", struct.pack("<d", number))[0]


def number_of(bits):
    """The float64 that has these 64 bits."""
    return struct.unpack("<d", struct.pack("<q", bits))[0]


@overload(bits_of)
@overload(number_of)
def _reinterpreted_compiled(value):
    return lambda value: _reinterpreted(value)


class vectorised:
    """A NumPy wrapper (broadcasting, any shape) over a compiled scalar formula, built on its first call."""

    def __init__(self, scalar):
        self.scalar = scalar
        self.__doc__ = scalar.__doc__
        self.__name__ = scalar.__name__
        self._ufunc = None

    def __call__(self, *arguments):
        if self._ufunc is None:
            if numba.config.DISABLE_JIT:  # for tracebacks and coverage: the scalar is plain Python then
                self._ufunc = np.vectorize(self.scalar, otypes=[float])
            else:
                self._ufunc = numba.vectorize(self.scalar.py_func)
        return self._ufunc(*arguments)
