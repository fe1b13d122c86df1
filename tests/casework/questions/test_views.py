"""What do the pages of the questions show, to whom, and how do they answer?"""

import pytest

from casework.questions import services
from tests.bench import make_ordered_case

pytestmark = pytest.mark.django_db


@pytest.fixture
def ordered(dentist, laboratory):
    return make_ordered_case(dentist, laboratory)


def test_asked_and_answered_through_the_pages(ordered, technician, dentist, sign_in):
    url = f"/cases/{ordered.code}/questions/"
    asked = {"to_side": "practice", "about": "", "text": "<b>Ovate</b> at 46?"}
    assert sign_in(technician).post(url, asked).status_code == 302
    client = sign_in(dentist)
    assert "&lt;b&gt;Ovate&lt;/b&gt;" in client.get(url).content.decode()

    empty = client.post(f"{url}1/", {"how": "written", "text": ""})
    done = client.post(f"{url}1/", {"how": "written", "text": "Ovate, please."})

    assert (empty.status_code, done.status_code) == (422, 302)
    assert "Ovate, please." in sign_in(technician).get(url).content.decode()
    again = sign_in(dentist).post(f"{url}1/", {"how": "written", "text": "No."})
    assert again.status_code == 409


def test_asker_may_note_a_call_only(ordered, technician, sign_in):
    services.ask_question(ordered, by=technician, text="Ovate?")
    client = sign_in(technician)
    url = f"/cases/{ordered.code}/questions/1/"

    assert client.post(url, {"how": "written", "text": "Yes."}).status_code == 422
    assert client.post(url, {"how": "call noted", "text": "Yes, said D."}).status_code == 302


def test_wrong_role_is_403_and_another_party_404(
    ordered, front_desk, technician, other_laboratory, sign_in
):
    from tests.factories import make_member

    services.ask_question(ordered, by=technician, text="Ovate?")
    url = f"/cases/{ordered.code}/questions/"
    stranger = make_member(other_laboratory, "technician")

    assert sign_in(front_desk).get(url).status_code == 200
    assert sign_in(front_desk).post(url, {"text": "When?"}).status_code == 403
    assert sign_in(front_desk).get(f"{url}1/").status_code == 403
    assert sign_in(stranger).get(url).status_code == 404
    assert sign_in(technician).get(f"{url}9/").status_code == 404
