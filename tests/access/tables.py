"""What do all tables hold, as one digest?"""

import hashlib

# A session's last use and the throttle's counters are not what the tests are about.
APART = ("django_session", "axes_")


def rows_of_tables(connection):
    """(table, row as text) of every row of every table but those apart."""
    with connection.cursor() as cursor:
        for table in sorted(connection.introspection.table_names(cursor)):
            if table.startswith(APART):
                continue
            cursor.execute(f"SELECT * FROM {connection.ops.quote_name(table)}")
            for row in cursor.fetchall():
                yield table, repr(row)


def digest_of_tables(connection):
    digest = hashlib.sha256()
    for table, row in sorted(rows_of_tables(connection)):
        digest.update(f"{table}\n{row}\n".encode("utf-8", "backslashreplace"))
    return digest.hexdigest()
