"""The papers of a case: the list, the stored print of one, and a page to print from."""

from django.core.files.storage import default_storage
from django.http import FileResponse, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods

from casework.cases.access import open_case
from casework.cases.pages import answer_press
from casework.documents.queries import is_under_way, paper_for, papers_for
from orders.documents import find_document, printing, rules
from orders.documents.services import print_again
from orders.parties.access import members_only

# To be saved, never shown: nothing in a file may act in this service's name.
SAFE = {
    "X-Content-Type-Options": "nosniff",
    "Content-Security-Policy": "default-src 'none'; sandbox",
    "Cache-Control": "private, no-store",
    "Cross-Origin-Resource-Policy": "same-origin",
}


@require_GET
@members_only()
def paper_list(request, code):
    desk = open_case(request.member, code, area="papers")
    # A paper may hold pictures: megabytes that a list does not show.
    papers = papers_for(desk).defer("facts", "replaces__facts")
    rows = [(paper, find_document(paper.kind)[0].title) for paper in papers]
    context = {"desk": desk, "case": desk.case, "rows": rows}
    return render(request, "casework/documents/papers.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@members_only()
def stored_print(request, code, paper_id):
    desk = open_case(request.member, code, area="papers")
    paper = paper_for(desk, paper_id)
    if request.method == "POST":
        return answer_press(
            request,
            act=lambda: print_again(paper),
            done=_("The print is being made."),
            to=("case_papers", code),
        )
    if paper.state == "printed" and default_storage.exists(paper.storage_key):
        return _saved(paper)
    context = {
        "desk": desk,
        "case": desk.case,
        "paper": paper,
        "is_under_way": is_under_way(paper),
    }
    return render(request, "casework/documents/not_printed.html", context, status=409)


def _saved(paper):
    """The stored bytes, always the same ones, as a file named after the paper's number."""
    return FileResponse(
        default_storage.open(paper.storage_key, "rb"),
        as_attachment=True,
        filename=rules.file_name(paper.number),
        content_type="application/pdf",
        headers=SAFE,
    )


@require_GET
@members_only()
def print_view(request, code, paper_id):
    desk = open_case(request.member, code, area="papers")
    paper = paper_for(desk, paper_id)
    return HttpResponse(printing.html_of(paper, csp_nonce=request.csp_nonce))
