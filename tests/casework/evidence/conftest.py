"""What do the tests of evidence find ready: a way to send, and a look at what is stored?"""

import io
from pathlib import Path

import pytest

from casework.audit.models import Entry
from casework.evidence.models import Evidence


@pytest.fixture
def send(case, dentist, sign_in):
    """Sends files, given by name, through the upload page or the JSON address."""

    def post(files, *, by=dentist, api=True, on=case, **says):
        client = sign_in(by)
        streams = []
        for name, data in files.items():
            stream = io.BytesIO(data)
            stream.name = name
            streams.append(stream)
        address = f"/api/cases/{on.code}/files/" if api else f"/cases/{on.code}/files/add/"
        return client.post(address, {"files": streams, **says})

    return post


@pytest.fixture
def stored(settings):
    """Every file in storage or among the incoming ones, as paths."""

    def look():
        folders = [Path(settings.DATA) / "files", Path(settings.DATA) / "incoming"]
        return [path for folder in folders for path in folder.rglob("*") if path.is_file()]

    return look


@pytest.fixture
def is_as_before(case, stored):
    """Says whether an upload left nothing: no file, no row, no event but the refusals."""
    kinds = list(Entry.objects.order_by("seq").values_list("kind", flat=True))

    def look(refused=1):
        events = list(Entry.objects.order_by("seq").values_list("kind", flat=True))
        return (
            not stored()
            and not Evidence.objects.exists()
            and events == kinds + ["evidence.refused"] * refused
        )

    return look
