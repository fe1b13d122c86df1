"""Which papers of an order may a party read?"""

from orders.documents.models import Paper


def papers_of(order, party):
    """The papers of an order that a party may read, newest first."""
    return (
        Paper.objects.filter(order=order, parties=party)
        .select_related("replaces")
        .order_by("-issued_at", "-pk")
    )


def newest_issue(subject, kind):
    """The newest issue of one kind of paper about one thing, or None."""
    return Paper.objects.filter(subject=subject, kind=kind).order_by("-pk").first()
