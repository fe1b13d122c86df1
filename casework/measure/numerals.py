"""Which number does a piece of text write, exactly?

A decimal numeral of up to 2^53 and a power of ten up to 10^22 needs one rounding only, so one
multiplication or division gives the nearest float64 (W. D. Clinger, How to read floating point
numbers accurately, PLDI 1990). Every other numeral is noted down and read by float().
"""

import numpy as np

from casework.measure.jit import jit

OK, SLOW, NOT_FINITE, COMMA, GARBAGE = 0, 1, 2, 3, 4
POWERS = np.array([float(10**k) for k in range(23)])


@jit
def is_blank(c):
    """Say whether a byte is white space: blank, tab, line end, form feed; no other control."""
    return c == 32 or 9 <= c <= 13


@jit
def skip_blanks(buf, i, end):
    """Return the place of the next byte that is not white space, line ends included."""
    while i < end and is_blank(buf[i]):
        i += 1
    return i


@jit
def skip_line(buf, i, end):
    """Return the place of the next line end (LF or CR), or the end."""
    while i < end and buf[i] != 10 and buf[i] != 13:
        i += 1
    return i


@jit
def token_end(buf, i, end):
    """Return the place behind the token that starts at i."""
    while i < end and not is_blank(buf[i]):
        i += 1
    return i


@jit
def number_at(buf, i, end):
    """Read the numeral at i: its value, the place behind its token, how it went."""
    start = i
    negative = False
    if i < end and (buf[i] == 45 or buf[i] == 43):
        negative = buf[i] == 45
        i += 1
    mantissa = np.uint64(0)
    digits, significant, exponent = 0, 0, 0
    after_point = False
    while i < end:
        c = buf[i]
        if 48 <= c <= 57:
            digits += 1
            if significant > 0 or c != 48:
                significant += 1
                if significant <= 19:
                    mantissa = mantissa * np.uint64(10) + np.uint64(c - 48)
            if after_point:
                exponent -= 1
        elif c == 46 and not after_point:
            after_point = True
        else:
            break
        i += 1
    if digits == 0:
        return np.nan, token_end(buf, i, end), _odd(buf, start, token_end(buf, i, end))
    if i < end and (buf[i] == 101 or buf[i] == 69):
        i += 1
        down = False
        if i < end and (buf[i] == 45 or buf[i] == 43):
            down = buf[i] == 45
            i += 1
        written, places = 0, 0
        while i < end and 48 <= buf[i] <= 57:
            written = min(written * 10 + np.int64(buf[i] - 48), 100000)
            places += 1
            i += 1
        if places == 0:
            return np.nan, token_end(buf, i, end), GARBAGE
        exponent += -written if down else written
    if i < end and not is_blank(buf[i]):
        stop = token_end(buf, i, end)
        return np.nan, stop, _odd(buf, start, stop)
    if mantissa == 0:
        return 0.0, i, OK
    if significant > 19 or mantissa > np.uint64(1 << 53) or exponent > 22 or exponent < -22:
        return np.nan, i, SLOW
    value = np.float64(mantissa)
    value = value / POWERS[-exponent] if exponent < 0 else value * POWERS[exponent]
    return (-value if negative else value), i, OK


@jit
def _odd(buf, start, stop):
    """Say what a token is that is no plain numeral: a comma, a not-a-number, or garbage."""
    for k in range(start, stop):
        if buf[k] == 44:
            return COMMA
    i = start
    if i < stop and (buf[i] == 45 or buf[i] == 43):
        i += 1
    if i + 1 < stop:
        a, b = buf[i] | 32, buf[i + 1] | 32
        if (a == 110 and b == 97) or (a == 105 and b == 110):
            return NOT_FINITE
    for k in range(i + 1, stop):
        if buf[k] == 35 and buf[k - 1] == 46 and 48 <= buf[i] <= 57:  # 1.#QNAN, -1.#IND, 1.#INF
            return NOT_FINITE
    return GARBAGE


@jit
def noted(notes, count, start, stop, place):
    """Write down a numeral for float(): (start, stop, place); the list grows as needed."""
    if count == notes.shape[0]:
        larger = np.empty((2 * count + 16, 3), np.int64)
        larger[:count] = notes
        notes = larger
    notes[count, 0], notes[count, 1], notes[count, 2] = start, stop, place
    return notes


def without_padding(buf: np.ndarray) -> np.ndarray:
    """Return a text without the white space, NUL and end marks (Ctrl-Z) it ends in."""
    end = len(buf)
    while end and buf[end - 1] <= 32:
        end -= 1
    return buf[:end]


def read_noted(buf: np.ndarray, notes: np.ndarray, values: np.ndarray) -> None:
    """Read the noted numerals into the flat array values."""
    raw = memoryview(buf)
    for start, stop, place in notes.tolist():
        values[place] = float(bytes(raw[start:stop]))


def line_number(buf: np.ndarray, place: int) -> int:
    """Return the number, from 1, of the line that holds the byte at this place."""
    before = buf[:place]
    feeds = int(np.count_nonzero(before == 10))
    return 1 + (feeds or int(np.count_nonzero(before == 13)))


def text_at(buf: np.ndarray, place: int, most: int = 60) -> bytes:
    """Return the rest of the line at this place, at most so many bytes."""
    piece = buf[place : place + most].tobytes()
    return piece.replace(b"\r", b"\n").split(b"\n", 1)[0]


def whole_line_at(buf: np.ndarray, place: int, most: int = 60) -> bytes:
    """Return the line that holds the byte at this place, at most so many bytes."""
    back = buf[max(0, place - 200) : place].tobytes().replace(b"\r", b"\n")
    return (back.rsplit(b"\n", 1)[-1] + text_at(buf, place, most))[:most]
