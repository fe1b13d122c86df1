"""What does the page of a case say and send, and to whom?"""

import re

import numpy as np
import pytest
from django.contrib.staticfiles import finders
from django.urls import reverse

from casework.designs.models import ReviewMark
from casework.findings import measuring
from tests.casework.viewer.looking import corners, scene_of


@pytest.fixture
def waits(tell):
    """A crown whose design waits for the dentist."""
    return tell("crown", "submit_design")


@pytest.fixture
def page(waits, sign_in):
    client = sign_in(waits.who("dentist"))
    return client, client.get(reverse("design_look", args=[waits.case.code, 1]))


def test_surfaces_implants_and_directions_stand_in_the_scene(with_script, page, waits):
    scene = scene_of(page[1])

    roles = {one["role"]: one for one in scene["surfaces"]}
    assert {"crown", "working_arch", "opposing_arch"} <= set(roles)
    assert roles["crown"]["is_shown"] and roles["crown"]["is_solid"]
    assert not roles["opposing_arch"]["is_shown"]
    assert [one["site"] for one in scene["implants"]] == ["36"]
    up, front = scene["directions"]["up"], scene["directions"]["front"]
    assert np.dot(up, front) == pytest.approx(0, abs=1e-9)
    assert len(scene["ramp"]) == 128


def test_every_surface_can_be_had_by_its_address(with_script, page, waits):
    client, response = page

    for one in scene_of(response)["surfaces"]:
        answer = client.get(one["url"])
        data = b"".join(answer.streaming_content)
        assert answer["Content-Type"] == "model/gltf-binary" and data[:4] == b"glTF"


def test_lengths_lie_at_the_corners_of_the_preview(with_script, page, waits):
    client, response = page
    crown = next(one for one in scene_of(response)["surfaces"] if one["role"] == "crown")
    file = waits.case.evidence.get(number=crown["name"].split()[-1])

    assert {"thickness", "clearance"} <= {one["name"] for one in crown["fields"]}
    for field in crown["fields"]:
        lengths = np.frombuffer(client.get(field["url"]).content, "<i2")
        assert len(lengths) == len(corners(file))
    assert (lengths[lengths > -32768] > -5000).all()


def test_a_length_nobody_computed_is_not_there(page, waits):
    client, _response = page
    crown = waits.case.evidence.get(role="design_part")

    for name in ("gloss", "change"):
        address = reverse("design_field", args=[waits.case.code, 1, crown.number, name])
        assert client.get(address).status_code == 404


def test_findings_lead_and_those_of_a_value_have_a_place(with_script, page):
    _client, response = page
    text = response.content.decode()
    scene = scene_of(response)

    assert text.index("What was found") < text.index('data-look="canvas"')
    for pin in scene["pins"]:
        assert f'id="{pin["id"]}"' in text and len(pin["place_mm"]) == 3
    assert scene["pins"] or "Nothing was found" in text


def test_without_the_script_the_pictures_stand_open(monkeypatch, page, waits):
    monkeypatch.setattr(finders, "find", lambda name, **more: None)
    client, _response = page

    text = client.get(reverse("design_look", args=[waits.case.code, 1])).content.decode()

    assert "is not set up here" in text and "viewer.js" not in text
    assert re.search(r'<details class="look-still" open>', text)
    assert "Approve this design version" in text
    picture = client.get(reverse("design_picture", args=[waits.case.code, 1, 0]))
    assert picture["Content-Type"] == "image/png" and picture.content[:4] == b"\x89PNG"
    last = len(measuring.drawn(waits.case)["pictures"])
    assert (
        client.get(reverse("design_picture", args=[waits.case.code, 1, last])).status_code
        == 404
    )


def test_a_draft_is_not_seen_by_the_practice(tell, sign_in):
    story = tell("crown", "design")
    chair, bench = sign_in(story.who("dentist")), None

    assert chair.get(reverse("design_look", args=[story.case.code, 1])).status_code == 404
    assert (
        "The scans" in chair.get(reverse("case_look", args=[story.case.code])).content.decode()
    )
    bench = sign_in(story.who("technician"))
    assert bench.get(reverse("design_look", args=[story.case.code, 1])).status_code == 200


def test_a_discarded_version_does_not_hide_the_one_that_counts(with_script, tell, sign_in):
    story = tell("crown", "submit_design")
    version = story.case.designs.get()
    type(version).objects.create(
        case=story.case,
        number=2,
        state="superseded",
        made_by=version.made_by,
        made_at=version.made_at,
    )

    bench = sign_in(story.who("technician"))
    page = bench.get(reverse("case_look", args=[story.case.code]))

    assert "Design version 1" in page.content.decode()
    crown = next(one for one in scene_of(page)["surfaces"] if one["role"] == "crown")
    assert crown["fields"] and crown["title"] == "Crown 36"


def test_a_mark_at_a_place_is_kept_and_seen_by_the_laboratory(
    with_script, page, waits, sign_in
):
    client, _response = page
    address = reverse("design_mark", args=[waits.case.code, 1])
    typed = {"text": "More room here.", "place": "1.250 -2.5 7", "facing": "0 0.6 0.8"}

    answer = client.post(address, typed)

    assert answer.status_code == 302
    mark = ReviewMark.objects.get()
    assert mark.place_mm == [1.25, -2.5, 7.0] and mark.facing == [0.0, 0.6, 0.8]
    bench = sign_in(waits.who("technician"))
    scene = scene_of(bench.get(reverse("design_look", args=[waits.case.code, 1])))
    pins = [one for one in scene["pins"] if one["kind"] == "mark"]
    assert [(one["number"], one["place_mm"]) for one in pins] == [("A", [1.25, -2.5, 7.0])]


@pytest.mark.parametrize("place", ["1 2", "a b c", "nan 0 0", "1e9 0 0", "1 2 3 4"])
def test_a_place_that_is_none_is_refused(page, waits, place):
    client, _response = page
    address = reverse("design_mark", args=[waits.case.code, 1])

    answer = client.post(address, {"text": "Here.", "place": place})

    assert answer.status_code == 422
    assert "Press it again" in answer.content.decode()
    assert not ReviewMark.objects.exists()


def test_a_draft_shows_the_marks_that_it_is_to_answer(with_script, tell, sign_in):
    story = tell("crown", "submit_design")
    from casework.designs import services

    version = story.case.designs.get()
    services.mark_version(
        version, by=story.who("dentist"), text="Shorter.", place=[1.0, 2.0, 3.0], facing=None
    )
    story.case.refresh_from_db()
    version.state = "returned"
    version.save()
    draft = services.start_version
    story.case.stage = "design"
    story.case.save()
    new = draft(story.case, by=story.who("technician"))

    bench = sign_in(story.who("technician"))
    scene = scene_of(bench.get(reverse("design_look", args=[story.case.code, new.number])))

    assert [one["label"] for one in scene["pins"] if one["kind"] == "mark"] == [
        "Mark: Shorter."
    ]


def test_whoever_may_ask_is_offered_to_ask_about_the_view(page, waits):
    client, response = page
    address = reverse("case_questions", args=[waits.case.code])
    offered = f'data-page="{address}" data-about="{waits.case.designs.get().subject}"'
    assert offered in response.text

    type(waits.case).objects.filter(pk=waits.case.pk).update(stage="closed")

    assert "Ask about this view" not in client.get(response.request["PATH_INFO"]).text
