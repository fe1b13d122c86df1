"""What do tests of the page of surfaces find ready?"""

import pytest
from django.contrib.staticfiles import finders


@pytest.fixture
def with_script(monkeypatch):
    """As if set-up had built the page's script."""
    monkeypatch.setattr(finders, "find", lambda name, **more: f"/built/{name}")
