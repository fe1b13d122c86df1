"""Does the trail hold, and is whatever was done to it named with the first broken entry?"""

import threading
from datetime import UTC, date, datetime
from decimal import Decimal
from io import StringIO

import pytest
from django.core.management import CommandError, call_command
from django.db import (
    DatabaseError,
    close_old_connections,
    connection,
    connections,
    transaction,
)

from casework.audit.models import ChainHead, Entry
from casework.audit.queries import first_break, trail_of
from casework.audit.services import UnknownKind, link_digest, record
from casework.audit.triggers import install_triggers, missing_triggers
from orders.events import announce
from tests import factories

REFUSED = "an audit entry cannot be|the audit trail only grows|the digest does not belong"
COPIED = '"case", subject, actor, actor_name, party_name, text'


def write_entries(count):
    for number in range(1, count + 1):
        with transaction.atomic():
            record("paper.printed", subject=f"tests:{number}", facts={"number": f"N-{number}"})


def verify(*arguments):
    said = StringIO()
    call_command("verify_audit", *arguments, stdout=said)
    return said.getvalue()


@pytest.fixture
def entries(db):
    write_entries(6)
    return Entry.objects.order_by("seq")


@pytest.fixture
def as_owner(entries):
    """Runs SQL as somebody may who owns the database file: with the triggers out of the way."""

    def run(*statements):
        with connection.cursor() as cursor:
            for name in standing_triggers(cursor):
                cursor.execute(drop(name))
            for statement in statements:
                cursor.execute(statement)
        install_triggers()

    return run


def standing_triggers(cursor):
    if connection.vendor == "sqlite":
        cursor.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'")
    else:
        cursor.execute("SELECT tgname FROM pg_trigger WHERE NOT tgisinternal")
    return [row[0] for row in cursor.fetchall() if row[0].startswith("casework_entry")]


def drop(name):
    on = "" if connection.vendor == "sqlite" else " ON casework_entry"
    return f"DROP TRIGGER {name}{on}"


# What holds


def test_an_empty_trail_holds(db):
    assert verify().startswith("0 entries hold.")


def test_a_written_trail_holds_and_tells_its_head(entries):
    head = ChainHead.objects.get(pk=1).digest

    assert verify() == f"6 entries hold. Head: {head}\n"
    assert verify("--head", head.upper()) == verify()


def test_every_kind_of_fact_reads_back_as_it_was_hashed(db, dentist):
    facts = {
        "amount": Decimal("15.50"),
        "day": date(2026, 3, 29),
        "moment": datetime(2026, 3, 29, 1, 30, 0, 123456, tzinfo=UTC),
        "words": "Zahnfleisch, γόμφος, e\u0301, \u00e9, \U0001f9b7, \u2028, \\n",
        "list": [1, None, True, {"b": "", "a": []}],
    }

    entry = record("paper.printed", subject="tests:1", by=dentist, case="ABC-1", facts=facts)

    assert first_break() is None
    assert entry.actor == f"orders.Membership:{dentist.pk}"
    assert entry.party_name == dentist.party.name


def test_the_first_entry_follows_sixty_four_zeros(entries):
    first = entries.first()

    assert first.previous == "0" * 64
    assert first.digest == link_digest(first.previous, first.text)


def test_an_unknown_kind_is_refused_and_undoes_what_it_was_to_record(db, dentist):
    with pytest.raises(UnknownKind), transaction.atomic():
        factories.make_party(name="Not to be kept")
        announce("party.wished", subject="orders.Party:1", by=dentist)

    assert not Entry.objects.exists()
    assert not type(dentist.party).objects.filter(name="Not to be kept").exists()


def test_what_is_announced_in_a_failing_transaction_leaves_nothing(db, dentist):
    record("paper.printed", subject="tests:1", facts={"number": "N-1"})

    with pytest.raises(RuntimeError), transaction.atomic():
        announce("party.changed", subject="tests:2", by=dentist, facts={"party": "x"})
        raise RuntimeError

    assert Entry.objects.count() == 1
    assert verify().startswith("1 entries hold.")


def test_a_fact_that_has_no_canonical_text_is_refused(db):
    with pytest.raises(TypeError):
        record("paper.printed", subject="tests:1", facts={"number": 0.1})

    assert not Entry.objects.exists()


# What was done to it


REHASHED = "c" * 64


@pytest.mark.parametrize(
    "statements, broken, why",
    [
        (
            ["UPDATE casework_entry SET text = replace(text, 'N-3', 'N-9') WHERE seq = 3"],
            3,
            "its text or its digest was changed",
        ),
        (
            ["UPDATE casework_entry SET actor_name = 'Somebody Else' WHERE seq = 4"],
            4,
            "its columns do not say what was hashed",
        ),
        (
            ["UPDATE casework_entry SET kind = 'case.opened' WHERE seq = 2"],
            2,
            "its columns do not say what was hashed",
        ),
        (
            ["UPDATE casework_entry SET at = '2020-01-01 00:00:00+00:00' WHERE seq = 5"],
            5,
            "its columns do not say what was hashed",
        ),
        (
            [f"UPDATE casework_entry SET digest = '{REHASHED}' WHERE seq = 1"],
            1,
            "its text or its digest was changed",
        ),
        (["DELETE FROM casework_entry WHERE seq = 1"], 1, "entry 1 is missing"),
        (["DELETE FROM casework_entry WHERE seq = 3"], 3, "entry 3 is missing"),
        (
            ["DELETE FROM casework_entry WHERE seq >= 5"],
            5,
            "the head says 6 entries, the chain ends at 4",
        ),
        (
            [
                "UPDATE casework_entry SET seq = 99 WHERE seq = 2",
                "UPDATE casework_entry SET seq = 2 WHERE seq = 4",
                "UPDATE casework_entry SET seq = 4 WHERE seq = 99",
            ],
            2,
            "it does not follow the entry before it",
        ),
        (
            ["UPDATE casework_entry SET seq = seq + 10 WHERE seq > 3"],
            4,
            "entry 4 is missing",
        ),
        (
            ["UPDATE casework_chainhead SET seq = 7"],
            7,
            "the head says 7 entries, the chain ends at 6",
        ),
        (
            [f"UPDATE casework_chainhead SET digest = '{REHASHED}'"],
            6,
            "the head says 6 entries, the chain ends at 6",
        ),
    ],
    ids=(
        "text column-actor column-kind column-at digest first-deleted deleted tail-cut swapped"
        " shifted head-ahead head-digest"
    ).split(),
)
def test_tampering_is_named_with_the_first_broken_entry(as_owner, statements, broken, why):
    as_owner(*statements)

    with pytest.raises(CommandError) as refused:
        verify()

    assert str(refused.value) == f"The chain breaks at entry {broken}: {why}."


def test_a_fake_that_was_appended_is_named(as_owner):
    columns = COPIED.removesuffix(", text")
    fake = link_digest(ChainHead.objects.get(pk=1).digest, "{}")

    as_owner(
        f"INSERT INTO casework_entry (seq, kind, at, {columns}, text, previous, digest)"
        f" SELECT 7, kind, at, {columns}, '{{}}', digest, '{fake}'"
        " FROM casework_entry WHERE seq = 6"
    )

    with pytest.raises(CommandError, match="breaks at entry 7: its text cannot be read"):
        verify()


def test_a_whole_link_appended_without_the_head_is_named(as_owner):
    last = ChainHead.objects.get(pk=1)
    write_entries(1)

    as_owner(f"UPDATE casework_chainhead SET seq = 6, digest = '{last.digest}'")

    with pytest.raises(CommandError, match="breaks at entry 7: the head says 6 entries"):
        verify()


def test_a_rewritten_link_breaks_at_the_next(as_owner):
    entry = Entry.objects.get(seq=3)
    text = entry.text.replace("N-3", "N-9")
    digest = link_digest(entry.previous, text)

    as_owner(
        f"UPDATE casework_entry SET text = replace(text, 'N-3', 'N-9'), digest = '{digest}'"
        " WHERE seq = 3"
    )

    with pytest.raises(CommandError, match="breaks at entry 4: it does not follow"):
        verify()


def test_a_tail_cut_together_with_the_head_needs_a_saved_head(as_owner):
    saved = ChainHead.objects.get(pk=1).digest
    kept = Entry.objects.get(seq=4)

    as_owner(
        "DELETE FROM casework_entry WHERE seq > 4",
        f"UPDATE casework_chainhead SET seq = 4, digest = '{kept.digest}'",
    )

    assert verify().startswith("4 entries hold.")
    assert verify("--head", kept.digest)
    with pytest.raises(CommandError, match="breaks at entry 5: the saved head is not in"):
        verify("--head", saved)


def test_a_head_that_is_gone_is_named(as_owner):
    with connection.cursor() as cursor:
        cursor.execute("DELETE FROM casework_chainhead")

    assert "head" in first_break().why


# What the database itself refuses


@pytest.fixture
def guarded(entries):
    """The triggers as an installation has them: nothing may be emptied."""
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            cursor.execute("DROP TABLE casework_flushable")
        else:
            cursor.execute("SET casework.flushable = 'off'")
        yield cursor
        if connection.vendor == "sqlite":
            cursor.execute("CREATE TABLE IF NOT EXISTS casework_flushable (x)")
        else:
            cursor.execute("SET casework.flushable = 'on'")


def copy_of(entry, *, seq, previous, verb="INSERT"):
    return (
        f"{verb} INTO casework_entry (seq, kind, at, {COPIED}, previous, digest)"
        f" SELECT {seq}, 'case.opened', at, {COPIED}, {previous}, digest"
        f" FROM casework_entry WHERE seq = {entry}"
    )


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE casework_entry SET kind = 'case.opened' WHERE seq = 3",
        "UPDATE casework_entry SET seq = 70 WHERE seq = 6",
        "DELETE FROM casework_entry WHERE seq = 6",
        "DELETE FROM casework_entry",
        copy_of(6, seq=8, previous="digest"),
        copy_of(6, seq=0, previous="digest"),
        copy_of(6, seq=7, previous="previous"),
    ],
    ids="update renumber delete-last delete-all gap before-first not-following".split(),
)
def test_the_database_refuses(guarded, statement):
    with pytest.raises(DatabaseError, match=REFUSED), transaction.atomic():
        guarded.execute(statement)

    assert first_break() is None
    assert Entry.objects.count() == 6


def test_the_database_refuses_what_is_special_to_it(guarded):
    if connection.vendor == "sqlite":
        statements = [
            copy_of(3, seq=3, previous="previous", verb="INSERT OR REPLACE"),
            copy_of(6, seq=6, previous="previous", verb="REPLACE"),
            "UPDATE OR REPLACE casework_entry SET seq = 5 WHERE seq = 6",
        ]
    else:
        statements = [
            "TRUNCATE casework_entry",
            "TRUNCATE casework_entry CASCADE",
            # The digest is computed again in the database.
            copy_of(6, seq=7, previous="digest"),
            copy_of(6, seq=6, previous="previous")
            + " ON CONFLICT (seq) DO UPDATE SET kind = 'case.opened'",
        ]

    for statement in statements:
        with pytest.raises(DatabaseError, match=REFUSED), transaction.atomic():
            guarded.execute(statement)

    assert first_break() is None
    assert Entry.objects.count() == 6


def test_a_trigger_that_is_missing_is_named_and_comes_back(entries):
    with connection.cursor() as cursor:
        cursor.execute(drop("casework_entry_update"))

    with pytest.raises(CommandError, match="casework_entry_update"):
        verify()
    install_triggers()
    assert missing_triggers() == []


@pytest.mark.django_db(transaction=True)
def test_triggers_come_back_after_the_table_is_rebuilt():
    """A table changed by a migration on SQLite is made anew, without its triggers."""
    write_entries(2)
    with connection.schema_editor() as editor:
        longer = Entry._meta.get_field("subject").clone()
        longer.max_length = 61
        longer.set_attributes_from_name("subject")
        editor.alter_field(Entry, Entry._meta.get_field("subject"), longer, strict=True)
    if connection.vendor == "sqlite":
        assert missing_triggers()

    call_command("migrate", verbosity=0)

    assert missing_triggers() == []
    assert first_break() is None
    with pytest.raises(DatabaseError, match=REFUSED), connection.cursor() as cursor:
        cursor.execute("UPDATE casework_entry SET kind = 'case.opened'")


def test_installing_again_keeps_the_head(entries):
    head = ChainHead.objects.get(pk=1).digest

    install_triggers()

    assert ChainHead.objects.get().digest == head


# Many writers


@pytest.mark.django_db(transaction=True)
@pytest.mark.xdist_group("threads")
def test_d17_eight_writers_make_one_chain_of_two_hundred():
    barrier, problems = threading.Barrier(8), []

    def write():
        close_old_connections()
        barrier.wait()
        try:
            write_entries(25)
        except Exception as problem:
            problems.append(problem)
        finally:
            connections.close_all()

    writers = [threading.Thread(target=write) for _ in range(8)]
    for writer in writers:
        writer.start()
    for writer in writers:
        writer.join()

    assert problems == []
    assert Entry.objects.count() == 200
    assert len(set(Entry.objects.values_list("previous", flat=True))) == 200
    assert verify().startswith("200 entries hold.")


# Who reads what


def test_a_party_reads_its_own_and_what_is_shared(dentist, technician):
    def act(kind, by, **facts):
        record(kind, subject="tests:1", by=by, case="ABC-1", facts=facts)

    act("evidence.received", dentist, number=1, role="bite_scan")
    act("case.moved", dentist, title="Send", source="planning", target="design")
    act("design.started", technician, number=1)

    practice = [line.what for line in trail_of("ABC-1", party=dentist.party)]
    laboratory = [line.what for line in trail_of("ABC-1", party=technician.party)]

    assert practice == ["received file 1 (bite scan)", "Send: planning to design"]
    assert laboratory == ["Send: planning to design", "started design version 1"]


def test_a_party_of_the_same_name_reads_nothing_of_another(dentist):
    record("design.started", subject="tests:1", by=dentist, case="ABC-1", facts={"number": 1})
    namesake = factories.make_party("laboratory", name=dentist.party.name)

    assert trail_of("ABC-1", party=namesake) == []


def test_a_party_that_changed_its_name_reads_what_it_did_before(dentist):
    record("design.started", subject="tests:1", by=dentist, case="ABC-1", facts={"number": 1})
    dentist.party.name = "Practice Under Another Tree"
    dentist.party.save()

    (line,) = trail_of("ABC-1", party=dentist.party)

    assert line.party == "Practice Under the Lime"
