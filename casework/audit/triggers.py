"""How does the database itself keep the trail append-only?

A table rebuild on SQLite drops triggers, so they are installed after every migrate and looked
for at start. SQLite's are passed in a test by a connection-level function value, PostgreSQL's
by a session setting; both are switched only by the test settings.
"""

from django.conf import settings
from django.db import connections

TABLE = "casework_entry"
NAMES = ("casework_entry_append", "casework_entry_update", "casework_entry_delete")

SQLITE = (
    f"""CREATE TRIGGER casework_entry_append BEFORE INSERT ON {TABLE}
    WHEN NEW.seq <> (SELECT seq + 1 FROM casework_chainhead WHERE id = 1)
      OR NEW.previous <> (SELECT digest FROM casework_chainhead WHERE id = 1)
    BEGIN SELECT RAISE(ABORT, 'the audit trail only grows at its end'); END""",
    f"""CREATE TRIGGER casework_entry_update BEFORE UPDATE ON {TABLE}
    BEGIN SELECT RAISE(ABORT, 'an audit entry cannot be changed'); END""",
    f"""CREATE TRIGGER casework_entry_delete BEFORE DELETE ON {TABLE}
    {{flushable}}
    BEGIN SELECT RAISE(ABORT, 'an audit entry cannot be deleted'); END""",
)
# Tests empty the tables by DELETE; only their settings create this marker table.
SQLITE_FLUSHABLE = (
    "WHEN NOT EXISTS (SELECT 1 FROM sqlite_master WHERE name = 'casework_flushable')"
)

POSTGRESQL_FUNCTION = """
CREATE OR REPLACE FUNCTION casework_entry_guard() RETURNS trigger AS $$
DECLARE head record;
BEGIN
  IF TG_OP = 'INSERT' THEN
    SELECT seq, digest INTO head FROM casework_chainhead WHERE id = 1;
    IF NEW.seq <> head.seq + 1 OR NEW.previous <> head.digest THEN
      RAISE EXCEPTION 'the audit trail only grows at its end';
    END IF;
    IF NEW.digest <> encode(
      sha256(convert_to(NEW.previous || E'\\n' || NEW.text, 'UTF8')), 'hex'
    ) THEN RAISE EXCEPTION 'the digest does not belong to this entry'; END IF;
    RETURN NEW;
  ELSIF TG_OP = 'UPDATE' THEN
    RAISE EXCEPTION 'an audit entry cannot be changed';
  ELSIF current_setting('casework.flushable', true) = 'on' THEN
    RETURN OLD;
  END IF;
  RAISE EXCEPTION 'an audit entry cannot be deleted';
END $$ LANGUAGE plpgsql;
"""
POSTGRESQL = (
    f"""CREATE TRIGGER casework_entry_append BEFORE INSERT ON {TABLE}
    FOR EACH ROW EXECUTE FUNCTION casework_entry_guard()""",
    f"""CREATE TRIGGER casework_entry_update BEFORE UPDATE ON {TABLE}
    FOR EACH ROW EXECUTE FUNCTION casework_entry_guard()""",
    f"""CREATE TRIGGER casework_entry_delete BEFORE DELETE ON {TABLE}
    FOR EACH ROW EXECUTE FUNCTION casework_entry_guard()""",
    f"""CREATE TRIGGER casework_entry_truncate BEFORE TRUNCATE ON {TABLE}
    FOR EACH STATEMENT EXECUTE FUNCTION casework_entry_guard()""",
)


def install_triggers(using="default", **kwargs):
    """Put the triggers, and the first chain head, in place."""
    connection = connections[using]
    if TABLE not in connection.introspection.table_names():
        return
    sqlite = connection.vendor == "sqlite"
    with connection.cursor() as cursor:
        for name in (*NAMES, "casework_entry_truncate"):
            cursor.execute(
                f"DROP TRIGGER IF EXISTS {name}" + ("" if sqlite else f" ON {TABLE}")
            )
        if sqlite:
            if settings.AUDIT_MAY_BE_FLUSHED:
                cursor.execute("CREATE TABLE IF NOT EXISTS casework_flushable (x)")
            flushable = SQLITE_FLUSHABLE if settings.AUDIT_MAY_BE_FLUSHED else ""
            for statement in SQLITE:
                cursor.execute(statement.replace("{flushable}", flushable))
        else:
            cursor.execute(POSTGRESQL_FUNCTION)
            for statement in POSTGRESQL:
                cursor.execute(statement)
        cursor.execute(
            "INSERT INTO casework_chainhead (id, seq, digest)"
            " SELECT 1, 0, %s WHERE NOT EXISTS (SELECT 1 FROM casework_chainhead)",
            ["0" * 64],
        )


def missing_triggers(using="default"):
    """Names of triggers that should stand in the database and do not."""
    connection = connections[using]
    if connection.vendor == "sqlite":
        query = "SELECT name FROM sqlite_master WHERE type = 'trigger'"
        wanted = NAMES
    else:
        query = "SELECT tgname FROM pg_trigger WHERE NOT tgisinternal"
        wanted = (*NAMES, "casework_entry_truncate")
    with connection.cursor() as cursor:
        cursor.execute(query)
        present = {row[0] for row in cursor.fetchall()}
    return [name for name in wanted if name not in present]
