"""How long does a board take, and how many queries, however many cases are open?"""

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


def measure(counts, runs, say):
    """Read every board with growing numbers of cases; True where all promises are kept."""
    make_database()
    cast = make_cast()
    pages = list(_pages(cast))
    kept, made, medians = True, 0, {}
    for count in sorted(counts):
        began = time.perf_counter()
        fill(cast, made, count)
        made = count
        say(
            f"{count:,} open cases of one practice and one laboratory, {connection.vendor}"
            f" (filled in {time.perf_counter() - began:.0f} s), {runs} readings a page"
        )
        for name, client, address in pages:
            query_count, times = _read(client, address, runs)
            middle = statistics.median(times) * 1000
            medians.setdefault(name, []).append(middle)
            late = count == min(counts) and middle > TARGET_MS
            kept &= query_count <= QUERIES_MAX and not late
            say(f"  {name:44} {query_count:3} queries  {middle:7.1f} ms")
    if len(counts) > 1:
        say(
            f"From {min(counts):,} to {max(counts):,} cases (wanted: at most"
            f" {TARGET_GROWTH} times)"
        )
        for name, values in medians.items():
            growth = values[-1] / values[0]
            kept &= growth <= TARGET_GROWTH
            say(f"  {name:44} {growth:5.2f} times")
    say(
        f"Wanted: at most {QUERIES_MAX} queries, under {TARGET_MS:.0f} ms at"
        f" {min(counts):,}: {'kept' if kept else 'NOT kept'}"
    )
    return kept


def _pages(cast):
    for (kind, role), member in cast.members.items():
        client = signed_in(member)
        names = [name for name, _label in boards_of(kind, member.role_set)]
        for name in (*names, CASE_LIST):
            yield f"{kind}, {role}: {name}", client, reverse(name)


def _read(client, address, runs):
    """(queries, seconds of each reading) of a page, sign-in and membership included."""
    statements = []

    def count(execute, sql, params, many, context):
        statements.append(sql)
        return execute(sql, params, many, context)

    with connection.execute_wrapper(count):
        answer = client.get(address)
    if answer.status_code != 200:
        raise RuntimeError(f"{address} answered {answer.status_code}")
    times = []
    for _run in range(WARM + runs):
        began = time.perf_counter()
        client.get(address)
        times.append(time.perf_counter() - began)
    return len(statements), times[WARM:]
