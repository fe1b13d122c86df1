"""How does a frozen paper become a page or a PDF? From its facts alone, fetching nothing."""

import base64
import io

import segno
from django.template.loader import render_to_string
from PIL import ImageFile

from orders.documents import find_document, thaw

_QR_NAME = "paper:qr.svg"
_TYPES = {"svg": "image/svg+xml", "png": "image/png"}


class NoPango(Exception):
    """This machine lacks the library that draws pages."""


class ForeignAddress(Exception):
    """A paper named something to load that is not its own."""


def html_of(paper, *, csp_nonce="", images=None):
    """The paper as HTML. Reads nothing but the row: its frozen facts and what is personal.

    `images` is filled with the pictures by the name the page calls them; without it they are
    written into the page.
    """
    document, template = find_document(paper.kind)
    head, says = thaw(document, paper.facts)
    for picture in getattr(says, "pictures", ()):
        picture["source"] = _source(picture, images)
    code = segno.make(f"{head['number']} {head['case']}", error="m")
    source = code.svg_data_uri(scale=4, border=2)
    if images is not None:
        drawn = io.BytesIO()
        code.save(drawn, kind="svg", scale=4, border=2)
        images[_QR_NAME], source = drawn.getvalue(), _QR_NAME
    context = {
        "document": document,
        "head": head,
        "says": says,
        "personal": paper.personal or {},
        "facts_digest": paper.facts_digest,
        "qr_source": source,
        "csp_nonce": csp_nonce,
    }
    return render_to_string(template, context)


def _source(picture, images):
    """Where the page finds a PNG that the facts hold as base64."""
    if images is None:
        return f"data:{_TYPES['png']};base64,{picture['png']}"
    name = f"paper:{picture['sha256']}.png"
    images[name] = base64.b64decode(picture["png"])
    return name


def pdf_of(paper):
    """The paper as PDF, built to PDF/UA-1; the same facts make the same bytes.

    Raises NoPango where the machine cannot draw pages.
    """
    images = {}
    return draw(html_of(paper, images=images), images)


def draw(page, images):
    """HTML as PDF, with the pictures it may show; any other address ends the print."""
    try:
        import weasyprint
        from weasyprint.urls import FatalURLFetchingError, URLFetcher, URLFetcherResponse
    except OSError as problem:
        raise NoPango(str(problem)) from problem
    # The library has the whole process read pictures that are cut off without a word; evidence
    # that is cut off must be refused.
    ImageFile.LOAD_TRUNCATED_IMAGES = False

    class FromMemory(URLFetcher):
        def fetch(self, url, headers=None):
            if url not in images:
                raise FatalURLFetchingError(f"a paper may not load {url[:80]!r}")
            kind = _TYPES[url.rpartition(".")[2]]
            return URLFetcherResponse(url, images[url], {"Content-Type": kind})

    try:
        html = weasyprint.HTML(string=page, base_url=None, url_fetcher=FromMemory())
        return html.write_pdf(pdf_variant="pdf/ua-1")
    except FatalURLFetchingError as problem:
        raise ForeignAddress(str(problem)) from problem
