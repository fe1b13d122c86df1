"""Which values stand in the records of a PLY file, binary or text?

Every reader returns columns: for a plain property an array of its values, for a list the pair
(flat values, where each record's values begin).
"""

import numpy as np

from casework.measure.faults import MeshUnreadable, excerpt
from casework.measure.jit import jit
from casework.measure.numerals import (
    COMMA,
    GARBAGE,
    SLOW,
    line_number,
    noted,
    number_at,
    read_noted,
    skip_blanks,
    text_at,
    whole_line_at,
    without_padding,
)
from casework.measure.plyheader import Element, Header


def binary_columns(data, place, element: Element, header: Header, name):
    """Read one element of a binary file: its columns and the place behind it."""
    room = len(data) - place
    least = element.least_bytes
    if least * element.count > room:
        raise cut_off(name, element, room // least)
    if not element.count or not element.properties:
        return [_empty(p) for p in element.properties], place
    if not any(p.count_code for p in element.properties):
        layout = _layout(element, header.order, {})
        stop = place + layout.itemsize * element.count
        records = data[place:stop].view(layout)
        return [records[f"p{k}"] for k in range(len(element.properties))], stop
    return _even_lists(data, place, element, header.order) or _uneven_lists(
        data, place, element, header.order, name
    )


def cut_off(name, element, held):
    """Return the refusal of a file with fewer records than it declares."""
    return MeshUnreadable(
        "cut_off",
        name=name,
        declared=element.count,
        held=held,
        things=f"{element.name} records",
    )


def _empty(prop):
    values = np.empty(0, prop.code)
    return (values, np.zeros(1, np.int64)) if prop.count_code else values


def _layout(element, order, lengths):
    fields = []
    for k, p in enumerate(element.properties):
        if p.count_code:
            fields.append((f"n{k}", order + p.count_code))
            fields.append((f"p{k}", order + p.code, (lengths[k],)))
        else:
            fields.append((f"p{k}", order + p.code))
    return np.dtype(fields)


def _even_lists(data, place, element, order):
    """Read records whose lists are all as long as those of the first, or return None."""
    lengths, at = {}, place
    for k, p in enumerate(element.properties):
        if p.count_code:
            size = int(p.count_code[1])
            if at + size > len(data):
                return None
            lengths[k] = int(data[at : at + size].view(order + p.count_code)[0])
            at += size + max(lengths[k], 0) * int(p.code[1])
            if not 0 <= lengths[k] <= len(data):
                return None
        else:
            at += int(p.code[1])
    stop = place + (at - place) * element.count
    if stop > len(data):
        return None
    records = data[place:stop].view(_layout(element, order, lengths))
    if any((records[f"n{k}"] != length).any() for k, length in lengths.items()):
        return None
    starts = {k: np.arange(element.count + 1, dtype=np.int64) * n for k, n in lengths.items()}
    return [
        (records[f"p{k}"].reshape(-1), starts[k]) if p.count_code else records[f"p{k}"]
        for k, p in enumerate(element.properties)
    ], stop


def _uneven_lists(data, place, element, order, name):
    spec = np.array(
        [
            [
                int(p.code[1]),
                int(p.count_code[1]) if p.count_code else 0,
                p.count_code[:1] == "i",
            ]
            for p in element.properties
        ],
        np.int64,
    )
    offsets, counts, stop, whole = walk_records(data, place, element.count, spec, order == ">")
    if whole < element.count:
        raise cut_off(name, element, whole)
    columns = []
    for k, p in enumerate(element.properties):
        starts = np.zeros(element.count + 1, np.int64)
        np.cumsum(counts[:, k], out=starts[1:])
        size = int(p.code[1])
        raw = gather(data, offsets[:, k], counts[:, k], size, int(starts[-1]))
        values = raw.view(order + p.code)
        columns.append((values, starts) if p.count_code else values)
    return columns, stop


@jit
def walk_records(data, i, count, spec, is_big):
    """Find each property of each record: offsets, item counts, place behind, whole records.

    spec (properties, 3): bytes of an item, bytes of a list's count (0: no list), is it signed.
    """
    offsets = np.empty((count, len(spec)), np.int64)
    counts = np.ones((count, len(spec)), np.int64)
    for r in range(count):
        for k in range(len(spec)):
            items = np.int64(1)
            if spec[k, 1] > 0:
                if i + spec[k, 1] > len(data):
                    return offsets, counts, i, r
                items = np.int64(0)
                for b in range(spec[k, 1]):
                    at = i + b if is_big else i + spec[k, 1] - 1 - b
                    items = items * 256 + np.int64(data[at])
                top = np.int64(1) << (8 * min(spec[k, 1], 7) - 1)
                if spec[k, 2] == 1 and items >= top:
                    return offsets, counts, i, r
                i += spec[k, 1]
            if items < 0 or items > (len(data) - i) // spec[k, 0]:
                return offsets, counts, i, r
            offsets[r, k], counts[r, k] = i, items
            i += items * spec[k, 0]
    return offsets, counts, i, count


@jit
def gather(data, offsets, counts, size, total):
    """Copy the bytes of items that lie scattered into one array."""
    out = np.empty(total * size, np.uint8)
    at = 0
    for r in range(len(offsets)):
        n = counts[r] * size
        out[at : at + n] = data[offsets[r] : offsets[r] + n]
        at += n
    return out


def text_values(data, place, name):
    """Read all numerals of a text body: values, first of each line, place of each line."""
    data = without_padding(data)
    bad, how, values, firsts, places, slow = scan_numbers(data, place)
    if bad >= 0:
        line = line_number(data, bad)
        if how == COMMA:
            raise MeshUnreadable(
                "decimal_comma", name=name, line=line, text=excerpt(whole_line_at(data, bad))
            )
        raise MeshUnreadable(
            "bad_number", name=name, line=line, text=excerpt(text_at(data, bad))
        )
    read_noted(data, slow, values)
    return values, firsts, places


def text_columns(data, body, row, element: Element, name):
    """Read one element from the lines of a text body: its columns and the next line."""
    values, firsts, places = body
    held = len(places) - row
    if held < element.count:
        raise cut_off(name, element, max(held, 0))
    if not element.count or not element.properties:
        return [_empty(p) for p in element.properties], row
    is_list = np.array([bool(p.count_code) for p in element.properties])
    at, counts, bad = walk_lines(values, firsts, row, element.count, is_list)
    if bad >= 0:
        at_line = int(places[bad])
        if bad == len(places) - 1:
            raise cut_off(name, element, bad - row)
        raise MeshUnreadable(
            "bad_line",
            name=name,
            line=line_number(data, at_line),
            text=excerpt(text_at(data, at_line)),
            expected=f"one {element.name} record with its declared values",
        )
    columns = []
    for k, p in enumerate(element.properties):
        if p.count_code:
            starts = np.zeros(element.count + 1, np.int64)
            np.cumsum(counts[:, k], out=starts[1:])
            columns.append((gather_values(values, at[:, k], counts[:, k], starts[-1]), starts))
        else:
            columns.append(values[at[:, k]])
    return columns, row + element.count


@jit
def scan_numbers(buf, i):
    """Read every numeral from i on: place of a bad one or -1, why, values, lines, noted."""
    values = np.empty((len(buf) - i) // 2 + 1, np.float64)
    firsts = np.empty(1024, np.int64)
    places = np.empty(1024, np.int64)
    slow = np.empty((0, 3), np.int64)
    n, lines, count, last = 0, 0, 0, -1
    end = len(buf)
    while True:
        j = skip_blanks(buf, i, end)
        if j >= end:
            break
        fresh = last < 0
        for k in range(i, j):
            fresh = fresh or buf[k] == 10 or buf[k] == 13
        last = j
        if fresh:
            if lines + 1 >= len(firsts):
                firsts, places = _doubled(firsts), _doubled(places)
            firsts[lines], places[lines] = n, j
            lines += 1
        value, i, how = number_at(buf, j, end)
        if how == COMMA or how == GARBAGE:
            return j, how, values[:0], firsts[:0], places[:0], slow[:0]
        if how == SLOW:
            slow = noted(slow, count, j, i, n)
            count += 1
        values[n] = value
        n += 1
    firsts[lines] = n
    return -1, 0, values[:n], firsts[: lines + 1], places[:lines], slow[:count]


@jit
def _doubled(array):
    larger = np.empty(2 * len(array), np.int64)
    larger[: len(array)] = array
    return larger


@jit
def walk_lines(values, firsts, row, count, is_list):
    """Find each property of each line: places, item counts, first line that does not fit."""
    at = np.empty((count, len(is_list)), np.int64)
    counts = np.ones((count, len(is_list)), np.int64)
    for r in range(count):
        i, stop = firsts[row + r], firsts[row + r + 1]
        for k in range(len(is_list)):
            if i >= stop:
                return at, counts, row + r
            if is_list[k]:
                items = values[i]
                i += 1
                if not (items >= 0 and items <= stop - i and items == np.floor(items)):
                    return at, counts, row + r
                counts[r, k] = np.int64(items)
            at[r, k] = i
            i += counts[r, k]
        if i != stop:
            return at, counts, row + r
    return at, counts, -1


@jit
def gather_values(values, at, counts, total):
    """Copy the items of the lists of a text body into one array."""
    out = np.empty(total, np.float64)
    j = 0
    for r in range(len(at)):
        for k in range(counts[r]):
            out[j] = values[at[r] + k]
            j += 1
    return out
