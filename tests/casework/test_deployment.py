"""Are mistakes of setting up named before the service starts?"""

import pytest

from casework.deployment import served_beyond_this_machine


@pytest.mark.parametrize(
    ("hosts", "debug", "https", "ids"),
    [
        (["127.0.0.1", "localhost"], True, False, []),
        (["casework.example"], False, True, []),
        (["casework.example"], False, False, ["casework.E002"]),
        (["casework.example"], True, True, ["casework.E001"]),
        (["casework.example"], True, False, ["casework.E001", "casework.E002"]),
    ],
)
def test_beyond_this_machine_cookies_need_https_and_no_debugging(
    settings, hosts, debug, https, ids
):
    settings.ALLOWED_HOSTS, settings.DEBUG, settings.HTTPS = hosts, debug, https

    assert [problem.id for problem in served_beyond_this_machine(None)] == ids
