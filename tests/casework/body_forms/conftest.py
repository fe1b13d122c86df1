"""What do the tests of forms find ready: a scan body of the laboratory's own."""

import pytest

from tests.casework.body_forms.making import make_scan_body


@pytest.fixture
def scan_body(laboratory):
    return make_scan_body(laboratory)
