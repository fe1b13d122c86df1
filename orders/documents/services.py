"""How is a paper issued, printed once, and freed of what is personal?"""

import secrets

from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.db import IntegrityError, transaction
from django.db.models.functions import Length
from django.utils import timezone
from django.utils.translation import gettext as _

from orders.canonical import digest_of_bytes
from orders.documents import freeze, printing, rules
from orders.documents.models import Paper
from orders.documents.queries import newest_issue
from orders.events import announce
from orders.jobs.services import enqueue, finish
from orders.refusals import Refused

_NUMBER_TRIES = 50


class ErasedMeanwhile(Exception):
    """What is personal was erased while the print was being made."""


def issue_paper(document, *, kind, order, subject, facts, parties, by, at, personal=None):
    """Freeze what a paper says, give it its number and put its print in line.

    Where the same thing was issued before under this kind, the new issue names the old one.
    """
    zone = order.practice.time_zone
    old = newest_issue(subject, kind)
    head = {
        "title": document.title,
        "case": order.code,
        "issued_at": at,
        "issued_by": by.person.name,
        "issued_for": by.party.name,
        "replaces": old.number if old else None,
        "zone": zone,
    }
    with transaction.atomic():
        paper = _numbered(
            document.series,
            rules.local_year(at, zone),
            facts,
            head,
            kind=kind,
            order=order,
            subject=subject,
            issued_at=at,
            issued_by=by.person.name,
            personal=personal,
            replaces=old,
        )
        paper.parties.set(parties)
        announce(
            "paper.issued",
            subject=_subject(paper),
            by=by,
            case=order.code,
            facts={
                "kind": kind.replace("_", " "),
                "number": paper.number,
                "facts_digest": paper.facts_digest,
                "replaces": head["replaces"],
            },
        )
        enqueue("papers.print", paper.pk)
    return paper


def _numbered(series, year, facts, head, **fields):
    """Write the paper under the next free number; whoever took it first makes this one wait."""
    for _try in range(_NUMBER_TRIES):
        number = rules.paper_number(series, year, _last_count(series, year) + 1)
        text = freeze(facts, {**head, "number": number})
        digest = digest_of_bytes(text.encode())
        try:
            with transaction.atomic():
                return Paper.objects.create(
                    number=number, facts=text, facts_digest=digest, **fields
                )
        except IntegrityError:
            if not Paper.objects.filter(number=number).exists():
                raise
    raise Refused(_("Too many papers are issued at this moment. Try again."))


def _last_count(series, year):
    last = (
        Paper.objects.filter(number__startswith=f"{series}-{year:04}-")
        .order_by(Length("number").desc(), "-number")
        .values_list("number", flat=True)
        .first()
    )
    return rules.count_of(last) if last else 0


def print_paper(paper_id, job, *, at=None):
    """Make the print of a paper and store it, once, whatever happens in between."""
    paper = Paper.objects.select_related("order").get(pk=paper_id)
    if paper.state == "printed":
        finish(job)
        return
    try:
        data = printing.pdf_of(paper)
    except printing.NoPango:
        with transaction.atomic():
            _keep_problem(paper, _(rules.NO_PANGO))
            finish(job)
        return
    except Exception as problem:
        _keep_problem(paper, _(rules.FAILED).format(problem=_first_line(problem)))
        raise
    key = _keep(paper, data)
    try:
        with transaction.atomic():
            is_taken = _take_print(paper, key, data, at or timezone.now())
            finish(job)
    except BaseException:
        default_storage.delete(key)
        raise
    if not is_taken:
        default_storage.delete(key)


def _keep(paper, data):
    digest = digest_of_bytes(data)
    order = paper.order
    key = f"{order.practice_id}/{order.code}/papers/{digest}-{secrets.token_hex(4)}.pdf"
    return default_storage.save(key, ContentFile(data), max_length=200)


def _take_print(paper, key, data, at):
    """Enter the stored print; False where another worker was first."""
    row = Paper.objects.select_for_update(no_key=True).get(pk=paper.pk)
    if row.state == "printed":
        return False
    if row.personal != paper.personal:
        raise ErasedMeanwhile(str(row))
    row.state, row.problem, row.printed_at = "printed", "", at
    row.storage_key, row.print_digest = key, digest_of_bytes(data)
    row.save(update_fields=["state", "problem", "printed_at", "storage_key", "print_digest"])
    announce(
        "paper.printed",
        subject=_subject(row),
        by=None,
        case=paper.order.code,
        facts={"number": row.number},
    )
    return True


def _keep_problem(paper, sentence):
    Paper.objects.filter(pk=paper.pk).exclude(state="printed").update(
        state="failed", problem=sentence
    )


def _first_line(problem):
    return (str(problem).strip() or type(problem).__name__).splitlines()[0][:300].rstrip(".")


def print_again(paper):
    """Put a print that could not be made in line again, or one whose file is gone."""
    with transaction.atomic():
        row = Paper.objects.select_for_update(no_key=True).get(pk=paper.pk)
        if row.state == "printed" and default_storage.exists(row.storage_key):
            raise Refused(_("This paper is printed; open the stored print."))
        row.state, row.problem, row.storage_key, row.print_digest = "waiting", "", "", ""
        row.save(update_fields=["state", "problem", "storage_key", "print_digest"])
        enqueue("papers.print", row.pk)


def erase_prints(order):
    """Take the patient's name out of the order's papers: the prints that held it go.

    Their frozen facts never held it; a print without the name is made in their place. Runs in
    the transaction of the erasure; the bytes go when it is committed.
    """
    with transaction.atomic():
        rows = Paper.objects.select_for_update(no_key=True).filter(
            order=order, personal__isnull=False
        )
        for paper in list(rows):
            key = paper.storage_key
            paper.personal, paper.state, paper.problem = None, "waiting", ""
            paper.storage_key, paper.print_digest, paper.printed_at = "", "", None
            paper.save()
            if key:
                transaction.on_commit(lambda key=key: default_storage.delete(key))
            enqueue("papers.print", paper.pk)


def _subject(paper):
    return f"{paper._meta.label}:{paper.pk}"
