"""With which headers do stored bytes leave, so that no browser runs or keeps them?"""

from django.http import FileResponse, Http404, StreamingHttpResponse
from django.utils.http import content_disposition_header

from casework.evidence.keeping import opened

CONTENT_TYPES = {
    "STL": "model/stl",
    "PLY": "application/octet-stream",
    "OBJ": "model/obj",
    "DICOM": "application/dicom",
    "JPEG": "image/jpeg",
    "PNG": "image/png",
    "TIFF": "image/tiff",
    "PDF": "application/pdf",
    "text": "text/plain; charset=utf-8",
}
# Nothing in the file may act in this service's name, be it saved or shown.
SAFE = {
    "X-Content-Type-Options": "nosniff",
    "Content-Security-Policy": "default-src 'none'; sandbox",
    "Cache-Control": "private, no-store",
    "Cross-Origin-Resource-Policy": "same-origin",
}


def file_response(download, *, is_shown=False):
    """The bytes as a file to be saved under its name.

    `is_shown`: a picture that was made here of what came, to be looked at in the browser.
    """
    try:
        stream = opened(download.key)
    except FileNotFoundError:
        raise Http404 from None
    response = FileResponse(stream, content_type=CONTENT_TYPES[download.format])
    response["Content-Length"] = str(download.size_bytes)
    response["X-Content-SHA256"] = download.sha256
    return _named(response, download.name, is_saved=not is_shown)


def archive_response(pieces, name):
    """An archive that is made while it is sent."""
    return _named(StreamingHttpResponse(pieces, content_type="application/zip"), name)


def _named(response, name, *, is_saved=True):
    response["Content-Disposition"] = content_disposition_header(is_saved, name)
    for header, value in SAFE.items():
        response[header] = value
    return response
