"""What do the pages of the questions show, to whom, and how do they answer?"""

import hashlib

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from casework.questions import rules, services
from casework.questions.models import Question
from tests.bench import make_ordered_case
from tests.casework.questions.making import PHOTOGRAPH, PNG, coming

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


def sent(data=PNG, name="shot.png"):
    return SimpleUploadedFile(name, data)


def test_pictures_are_sent_and_shown_to_both_sides(ordered, technician, dentist, sign_in):
    url = f"/cases/{ordered.code}/questions/"
    asked = {"to_side": "practice", "about": "", "text": "So?"}
    answered = {"how": "written", "text": "So."}

    client = sign_in(technician)
    done = client.post(url, asked | {"pictures": [sent(), sent(PHOTOGRAPH, "p.jpg")]})
    assert done.status_code == 302
    assert sign_in(dentist).post(f"{url}1/", answered | {"pictures": sent()}).status_code == 302

    for who in (technician, dentist):
        client = sign_in(who)
        page = client.get(url).text
        for number in (1, 2, 3):
            assert f'alt="Picture {number} of question 1"' in page
            assert f'src="{url}1/pictures/{number}/"' in page
            answer = client.get(f"{url}1/pictures/{number}/")
            data = b"".join(answer.streaming_content)
            assert answer["X-Content-SHA256"] == hashlib.sha256(data).hexdigest()
            assert answer["X-Content-Type-Options"] == "nosniff"
            assert answer["Content-Type"] == ("image/jpeg" if number == 2 else "image/png")
            assert answer["Content-Disposition"].startswith("inline")
            assert "sandbox" in answer["Content-Security-Policy"]
            assert b"Testperson" not in data
    assert client.get(f"{url}1/pictures/4/").status_code == 404


def test_typed_text_stays_where_a_picture_is_refused(ordered, technician, sign_in):
    url = f"/cases/{ordered.code}/questions/"
    asked = {"to_side": "practice", "about": "", "text": "Seen so far?"}
    large = sent(PNG + bytes(rules.PICTURE_MAX_BYTES), "large.png")

    for pictures, said in (
        ([sent(), sent(b"x" * 99, "odd.png")], "odd.png is in no format"),
        ([large, sent()], "large.png is larger than 10 MiB"),
        ([sent() for _count in range(4)], "At most 3 pictures"),
    ):
        answer = sign_in(technician).post(url, asked | {"pictures": pictures})

        assert answer.status_code == 409
        assert said in answer.text and "Seen so far?" in answer.text
        assert "Add them again." in answer.text
    assert not Question.objects.exists()


def test_upload_that_breaks_off_asks_nothing(ordered, technician, sign_in):
    body = b'--XyZ\r\nContent-Disposition: form-data; name="text"\r\n\r\nSo?\r\n--XyZ\r\n'
    answer = sign_in(technician).generic(
        "POST",
        f"/cases/{ordered.code}/questions/",
        body + b'Content-Disposition: form-data; name="pictures"; filename="a.png"\r\n\r\nab',
        content_type="multipart/form-data; boundary=XyZ",
    )

    assert answer.status_code == 400
    assert "Nothing was taken" in answer.text and "This field is required" not in answer.text
    assert not Question.objects.exists()


def test_picture_is_seen_by_whoever_sees_the_question(
    ordered, technician, front_desk, other_laboratory, sign_in
):
    from tests.factories import make_member

    with coming() as shot:
        services.ask_question(ordered, by=technician, text="So?", pictures=[shot])
    url = f"/cases/{ordered.code}/questions/1/pictures/1/"

    answer = sign_in(front_desk).get(url)
    assert answer.status_code == 200 and b"".join(answer.streaming_content)
    assert sign_in(make_member(other_laboratory, "technician")).get(url).status_code == 404


def test_erased_picture_is_said_to_be_so(ordered, technician, sign_in):
    with coming() as shot:
        services.ask_question(ordered, by=technician, text="So?", pictures=[shot])
    services.erase_pictures(ordered)
    client = sign_in(technician)
    url = f"/cases/{ordered.code}/questions/"

    assert "Picture 1 of question 1 was erased." in client.get(url).text
    assert client.get(f"{url}1/pictures/1/").status_code == 404
