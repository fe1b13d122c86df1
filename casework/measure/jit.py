"""How are the inner loops compiled, and what if nothing may be written to disk?

Compiled code is kept beside the sources (or where NUMBA_CACHE_DIR says). Where no such place
can be written, the loops are compiled anew in each process: a shared temporary folder would
let another user of the machine put code into it.
"""

import numba


def jit(function):
    """Compile a function on its first call: serial, without the interpreter lock."""
    try:
        return numba.njit(cache=True, nogil=True, error_model="numpy")(function)
    except RuntimeError:
        return numba.njit(nogil=True, error_model="numpy")(function)


inline = numba.njit(inline="always", error_model="numpy")
