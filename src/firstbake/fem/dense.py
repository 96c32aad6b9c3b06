"""In-place dense algebra on parts of arrays: the BLAS and LAPACK that SciPy carries, called by address.

SciPy's own wrappers copy every part of an array that is not contiguous and let no other thread run
meanwhile;
these do neither. SciPy publishes the addresses for compiled code (scipy.linalg.cython_blas, cython_lapack).
All calls are made ready once for fixed arrays and carried out many times.
"""

import ctypes
from collections.abc import Callable
from functools import partial
from types import ModuleType

import numpy as np
from scipy.linalg import cython_blas, cython_lapack

from firstbake.errors import BadSum

Call = Callable[[], None]
"""One operation on fixed arrays."""


def _routine(module: ModuleType, name: str) -> Callable[..., None]:
    capsule = module.__pyx_capi__[name]
    title = ctypes.pythonapi.PyCapsule_GetName
    title.restype, title.argtypes = ctypes.c_char_p, [ctypes.py_object]
    address = ctypes.pythonapi.PyCapsule_GetPointer
    address.restype, address.argtypes = ctypes.c_void_p, [ctypes.py_object, ctypes.c_char_p]
    signature = title(capsule)
    arguments = [ctypes.c_void_p] * (signature.count(b",") + 1)
    return ctypes.CFUNCTYPE(None, *arguments)(address(capsule, signature))


_GEMM, _SYRK, _TRSM = (_routine(cython_blas, name) for name in ("dgemm", "dsyrk", "dtrsm"))
_TRSV, _GEMV = (_routine(cython_blas, name) for name in ("dtrsv", "dgemv"))
_POTRF = _routine(cython_lapack, "dpotrf")

_LETTERS = ctypes.create_string_buffer(b"LNTR")
_L, _N, _T, _R = (ctypes.addressof(_LETTERS) + k for k in range(4))
_SCALES = (ctypes.c_double * 2)(1.0, -1.0)
_PLUS, _MINUS = (ctypes.addressof(_SCALES) + 8 * k for k in range(2))
_ONE = np.ones(1, dtype=np.intc)


class Bench:
    """Makes calls on parts of arrays whose columns lie one after another (Fortran order).

    most : greatest size of any part. Whoever holds the calls keeps this object and the arrays alive.
    """

    def __init__(self, most: int, factors: int) -> None:
        self._numbers = np.arange(most + 1, dtype=np.intc)
        self._start = self._numbers.ctypes.data
        self._infos = np.zeros(factors, dtype=np.intc)
        self._taken = 0
        self._one = _ONE.ctypes.data

    def check(self) -> None:
        """raises : BadSum when a Cholesky factor of the calls since made was not positive definite."""
        if self._infos.any():
            raise BadSum(
                "the sintering sum broke down: the mesh holds a badly shaped element or the porcelain is "
                "not held; mesh it again with another step"
            )

    def cholesky(self, size: int, where: int, stride: int) -> Call:
        """Lower triangle of Cholesky in place of a square part."""
        info = self._infos.ctypes.data + 4 * self._taken
        self._taken += 1
        return partial(_POTRF, _L, self._at(size), where, self._at(stride), info)

    def rows_over(self, triangle: int, rows: int, *, size: int, where: int, stride: int) -> Call:
        """Part (rows, size) divided by the transposed triangle, in place: X <- X L^-T."""
        at, lead = self._at, self._at(stride)
        return partial(_TRSM, _R, _L, _T, _N, at(rows), at(size), _PLUS, triangle, lead, where, lead)

    def add_square(
        self, rows: int, inner: int, *, left: int, stride: int, to: tuple[int, int], take: bool
    ) -> Call:
        """Lower half of a square part, given as address and stride: C <- C + A A^T, or C - A A^T."""
        at, scale = self._at, _MINUS if take else _PLUS
        return partial(_SYRK, _L, _N, at(rows), at(inner), scale, left, at(stride), _PLUS, to[0], at(to[1]))

    def add_product(
        self, shape: tuple[int, int, int], left: int, right: int, *, where: int, stride: int
    ) -> Call:
        """C <- A B^T + C for shape (rows, columns, inner), all parts of one array."""
        rows, columns, inner = (self._at(k) for k in shape)
        lead = self._at(stride)
        return partial(
            _GEMM, _N, _T, rows, columns, inner, _PLUS, left, lead, right, lead, _PLUS, where, lead
        )

    def divide(self, triangle: int, size: int, stride: int, *, vector: int, turned: bool) -> Call:
        """x <- L^-1 x, or L^-T x when turned."""
        way = _T if turned else _N
        return partial(_TRSV, _L, way, _N, self._at(size), triangle, self._at(stride), vector, self._one)

    def add_times(
        self, part: int, shape: tuple[int, int, int], *, vectors: tuple[int, int], turned: bool, take: bool
    ) -> Call:
        """y <- ± A x + y, or A^T x when turned; shape is (rows, columns, stride), vectors are x and y."""
        rows, columns, stride = (self._at(k) for k in shape)
        way, scale = (_T if turned else _N), (_MINUS if take else _PLUS)
        one = self._one
        return partial(
            _GEMV, way, rows, columns, scale, part, stride, vectors[0], one, _PLUS, vectors[1], one
        )

    def _at(self, number: int) -> int:
        return self._start + 4 * number
