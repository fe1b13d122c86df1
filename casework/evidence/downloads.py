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
# Always to be saved, never shown: nothing in the file may act in this service's name.
SAFE = {
    "X-Content-Type-Options": "nosniff",
    "Content-Security-Policy": "default-src 'none'; sandbox",
    "Cache-Control": "private, no-store",
    "Cross-Origin-Resource-Policy": "same-origin",
}


def file_response(download):
    """The bytes as a file to be saved under its name."""
    try:
        stream = opened(download.key)
    except FileNotFoundError:
        raise Http404 from None
    response = FileResponse(stream, content_type=CONTENT_TYPES[download.format])
    response["Content-Length"] = str(download.size_bytes)
    response["X-Content-SHA256"] = download.sha256
    return _as_attachment(response, download.name)


def archive_response(pieces, name):
    """An archive that is made while it is sent."""
    return _as_attachment(StreamingHttpResponse(pieces, content_type="application/zip"), name)


def _as_attachment(response, name):
    response["Content-Disposition"] = content_disposition_header(True, name)
    for header, value in SAFE.items():
        response[header] = value
    return response
