"""Which papers of a case does somebody see?"""

from django.http import Http404

from orders.documents.queries import papers_of
from orders.jobs.queries import pending


def papers_for(desk):
    """The papers a desk may read, newest first; a withdrawn offer takes its papers back."""
    party = desk.member.party
    withdrawn = desk.case.handoffs.filter(to_party=party, state="withdrawn")
    subjects = [handoff.subject for handoff in withdrawn]
    return papers_of(desk.case.order, party).exclude(subject__in=subjects)


def paper_for(desk, paper_id):
    """One paper by its id; raises Http404 where the desk may not read it."""
    paper = papers_for(desk).filter(pk=paper_id).first()
    if paper is None:
        raise Http404
    return paper


def is_under_way(paper):
    """Will a worker still try to print it without being asked?"""
    job = pending("papers.print", [paper.pk]).get(paper.pk)
    return job is not None and job.state != "dead"
