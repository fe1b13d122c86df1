"""How long does a board take, and how many queries, however many cases are open?"""

import os
import statistics
import time

from django.db import connection
from django.urls import reverse

from casework.benchmark.cast import make_cast, make_database, signed_in
from casework.benchmark.filling import fill
from casework.boards.sections import CASE_LIST, boards_of

QUERIES_MAX = 12
TARGET_MS = 50.0
TARGET_GROWTH = 1.5
WARM = 3
WIDTH = 40


def measure(counts, runs, say):
    """Read every board of parties with few and with many cases, in turns.

    All cases lie in one database. True where all promises are kept.
    """
    counts = sorted(set(counts))
    make_database()
    columns, made = [], 0
    for count in counts:
        cast = make_cast(str(count))
        fill(cast, made, made + count)
        made += count
        columns.append(list(_pages(cast)))
    load = f"{os.getloadavg()[0]:.1f} on {os.cpu_count()} processors"
    say(f"{made:,} open cases in one database ({connection.vendor}), {runs} readings a page;")
    say(f"load of the machine {load}. One practice and one laboratory have")
    say(
        f"{'median (least)':{WIDTH}} "
        + "".join(f"{f'{count:,} cases':>25}" for count in counts)
    )
    kept = True
    for pages in zip(*columns, strict=True):
        kept &= _compare(pages, runs, say)
    say(
        f"Wanted: at most {QUERIES_MAX} queries, under {TARGET_MS:.0f} ms in the first column,"
        f" the last at most {TARGET_GROWTH} times the first."
    )
    return kept


def _compare(pages, runs, say):
    """One line for a page: queries, median and growth; True where they are as promised."""
    name = pages[0][0]
    query_counts = [_count_queries(client, address) for _name, client, address in pages]
    times = [[] for _page in pages]
    for run in range(WARM + runs):
        # In turns, so that whatever else the machine does falls on all.
        for (_name, client, address), taken in zip(pages, times, strict=True):
            began = time.perf_counter()
            client.get(address)
            if run >= WARM:
                taken.append(time.perf_counter() - began)
    medians = [statistics.median(taken) * 1000 for taken in times]
    growth = medians[-1] / medians[0]
    cells = "".join(
        f"{count:4} q {statistics.median(taken) * 1000:6.1f} ({min(taken) * 1000:5.1f}) ms"
        for count, taken in zip(query_counts, times, strict=True)
    )
    say(f"{name:{WIDTH}} {cells} {growth:6.2f} times")
    return (
        max(query_counts) <= QUERIES_MAX and medians[0] < TARGET_MS and growth <= TARGET_GROWTH
    )


def _pages(cast):
    for (kind, role), member in cast.members.items():
        client = signed_in(member)
        names = [name for name, _label in boards_of(kind, member.role_set)]
        for name in (*names, CASE_LIST):
            yield f"{kind}, {role}: {name}", client, reverse(name)


def _count_queries(client, address):
    """Queries of one reading, those of the sign-in and the membership included."""
    statements = []

    def count(execute, sql, params, many, context):
        statements.append(sql)
        return execute(sql, params, many, context)

    with connection.execute_wrapper(count):
        answer = client.get(address)
    if answer.status_code != 200:
        raise RuntimeError(f"{address} answered {answer.status_code}")
    return len(statements)
