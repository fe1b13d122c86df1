"""Is it asked where no photograph can be seen?"""

import pytest

from casework.stages import guarded_by
from tests.casework.checks.good import codes, good

NAME = "photographs_present"


def test_guards():
    assert guarded_by(NAME) == {"send_order"}


def test_photograph_of_the_shade_does_not_show_the_face():
    facts = good()
    facts["files"] = [row for row in facts["files"] if row["role"] != "photograph"]

    assert codes(NAME, facts) == ["ask none"]


@pytest.mark.parametrize("state", ["waiting", "refused", "failed"])
def test_photograph_that_cannot_be_read_is_none(state):
    facts = good()
    facts["files"][4]["state"] = state

    assert codes(NAME, facts) == ["ask none"]
