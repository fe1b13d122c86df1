"""A second version: what changed is a colour, and the version before is there to be held by."""

import numpy as np
import pytest
from django.urls import reverse

from tests.casework.viewer.looking import SHIFT_MM, corners, moved_after_return, scene_of


@pytest.fixture
def twice(tell, tmp_path):
    return moved_after_return(tell("crown", "submit_design"), tmp_path)


def test_the_change_is_a_colour_and_the_version_before_is_there(with_script, twice, sign_in):
    client = sign_in(twice.who("technician"))

    page = client.get(reverse("design_look", args=[twice.case.code, 2]))

    surfaces = {one["role"]: one for one in scene_of(page)["surfaces"]}
    before, now = surfaces["previous_version"], surfaces["crown"]
    assert before["of"] == now["name"] and before["name"] != now["name"]
    assert not before["is_shown"] and before["is_solid"]
    assert "in turns with this one" in page.content.decode()
    (change,) = [one for one in now["fields"] if one["name"] == "change"]
    assert change["is_signed"]

    file = twice.case.evidence.get(number=now["name"].split()[-1])
    um = np.frombuffer(client.get(change["url"]).content, "<i2")
    assert len(um) == len(corners(file))
    # Shifted whole, a surface lies outward by the share of the shift along its normal.
    known = um[um > -32768]
    assert len(known) > 0.95 * len(um)
    assert known.max() == pytest.approx(1000 * SHIFT_MM, rel=0.15)
    assert known.min() == pytest.approx(-1000 * SHIFT_MM, rel=0.15)

    chair = sign_in(twice.who("dentist"))
    page = chair.get(reverse("design_look", args=[twice.case.code, 1]))
    surfaces = {one["role"]: one for one in scene_of(page)["surfaces"]}
    assert surfaces["crown"]["fields"] == [] and "previous_version" not in surfaces
    assert "this one is shown as it was" in page.content.decode()
    assert chair.get(reverse("design_look", args=[twice.case.code, 2])).status_code == 404
