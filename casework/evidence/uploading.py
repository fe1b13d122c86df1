"""How does a request with files become outcomes, without a byte of them in memory?

The upload handler must be in place before anything reads the request, also the check of its
token. So these views are exempt from the middleware's check and make it themselves, after
the handler is set and after it is known that the member may add files at all.
"""

from functools import wraps

from django.core.exceptions import RequestDataTooBig, TooManyFieldsSent, TooManyFilesSent
from django.http.multipartparser import MultiPartParserError
from django.http.request import UnreadablePostError
from django.utils.translation import gettext as _
from django.views.decorators.csrf import csrf_exempt, csrf_protect

from casework.cases.access import open_case
from casework.evidence import services
from casework.evidence.incoming import IncomingHandler, sweep_incoming
from casework.evidence.receiving import too_large
from casework.evidence.refusals import FileRefused
from casework.evidence.rules import (
    FILE_MAX_BYTES,
    FILES_MAX,
    REQUEST_MAX_BYTES,
    size_in_words,
)
from orders.parties.access import members_only


class RequestRefused(FileRefused):
    """Nothing of the request was looked at; `status` is the answer's."""

    def __init__(self, sentence, *, because, status=400):
        super().__init__(sentence, because=because)
        self.status = status


def streams_files(act):
    """Decorate a view(request, desk) of a case on which the member may do the act."""
    return streams(lambda request, code: open_case(request.member, code, act=act))


def streams(opened, *roles, most=None):
    """Decorate a view(request, what): `request.incoming` has what came; the rest is deleted.

    `opened` gives what the address names, or raises where the member may not send to it;
    `most` bytes are taken of one file, FILE_MAX_BYTES where it is None. A request that was
    refused as a whole changes nothing, and its token may be lost with its body: the view is
    called all the same, to say why.
    """

    def decorate(view):
        protected = csrf_protect(view)

        @csrf_exempt
        @members_only(*roles)
        @wraps(view)
        def streaming(request, **address):
            what = opened(request, **address)
            handler = prepare(request, most=most)
            try:
                return (view if request.refusal else protected)(request, what)
            finally:
                handler.discard()

        return streaming

    return decorate


def prepare(request, *, most=None):
    """Set the handler, and read the request under it where it holds files."""
    handler = IncomingHandler(request, most=most or FILE_MAX_BYTES)
    request.incoming, request.refusal = handler, None
    if request.method != "POST":
        return handler
    sweep_incoming()
    request.upload_handlers = [handler]
    try:
        _read(request)
    except RequestRefused as refusal:
        handler.discard()
        request.refusal = refusal
        # Nothing reads the rest of the body.
        request._mark_post_parse_error()
    return handler


def _read(request):
    length = request.META.get("CONTENT_LENGTH") or "0"
    if length.isdecimal() and int(length) > REQUEST_MAX_BYTES:
        raise RequestRefused(
            _("This upload is larger than {most} altogether. Send the files singly.").format(
                most=size_in_words(REQUEST_MAX_BYTES)
            ),
            because="is too large",
            status=413,
        )
    try:
        request.POST  # noqa: B018 (reads the whole request under the handler)
    except TooManyFilesSent:
        raise RequestRefused(
            _("More than {most} files came at once. Send them in parts.").format(
                most=FILES_MAX
            ),
            because="has too many files",
            status=413,
        ) from None
    except (MultiPartParserError, RequestDataTooBig, TooManyFieldsSent):
        raise RequestRefused(
            _("The upload cannot be read. Nothing was taken; send the files again."),
            because="cannot be read",
        ) from None
    except UnreadablePostError:
        raise broken_off() from None
    if request.incoming.is_broken_off:
        raise broken_off()


def broken_off():
    return RequestRefused(
        _("The upload broke off before its end. Nothing was taken; send the files again."),
        because="broke off",
    )


def take_files(case, request, *, slot=None):
    """The outcomes of every file of a request that `prepare` has read."""
    if request.refusal:
        raise request.refusal
    outcomes = []
    for name in request.incoming.refused:
        outcomes.append(
            services.refuse_upload(case, by=request.member, name=name, refusal=too_large(name))
        )
    for incoming in [file for _field, files in request.FILES.lists() for file in files]:
        outcomes += services.receive_upload(
            case, by=request.member, incoming=incoming, slot=slot
        )
    if not outcomes:
        raise RequestRefused(_("Choose at least one file."), because="holds no file")
    return outcomes
