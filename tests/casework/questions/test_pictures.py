"""Do pictures stand with a question as they were shown, without what a camera wrote in them?"""

import hashlib
import io
import json

import pytest
from django.core.exceptions import PermissionDenied
from django.core.files.storage import default_storage
from PIL import Image

from casework.audit.models import Entry
from casework.evidence.keeping import digest_of_stored, opened
from casework.evidence.pictures import pixel_digest
from casework.questions import rules
from casework.questions.models import Question, QuestionPicture
from casework.questions.services import answer_question, ask_question, erase_pictures
from orders.refusals import Refused
from tests.bench import make_ordered_case
from tests.casework.evidence.making import binary_stl, picture
from tests.casework.questions.making import PHOTOGRAPH, PNG, coming

pytestmark = pytest.mark.django_db


@pytest.fixture
def ordered(dentist, laboratory):
    return make_ordered_case(dentist, laboratory)


@pytest.fixture
def stored(settings):
    """The files that lie in storage and among incoming ones."""

    def names():
        folders = (settings.STORAGES["default"]["OPTIONS"]["location"],)
        found = [*folders, settings.FILE_UPLOAD_TEMP_DIR]
        return sorted(p.name for folder in found for p in folder.rglob("*") if p.is_file())

    return names


def test_pictures_stand_with_question_and_answer(ordered, technician, dentist):
    with coming() as one, coming(PHOTOGRAPH, "p.jpg") as other:
        question = ask_question(ordered, by=technician, text="So?", pictures=[one, other])
    with coming() as one:
        answer_question(question, by=dentist, text="So.", pictures=[one])

    asked, answered = question.pictures_asked, question.pictures_answered
    assert [row.number for row in asked] == [1, 2] and [row.number for row in answered] == [3]
    assert [row.format for row in asked] == ["PNG", "JPEG"]
    for row in QuestionPicture.objects.all():
        assert digest_of_stored(row.storage_key) == row.sha256
        assert default_storage.size(row.storage_key) == row.size_bytes
    entries = Entry.objects.filter(case=ordered.code, kind__startswith="question.")
    for entry, rows in zip(entries.order_by("seq"), (asked, answered), strict=True):
        assert json.loads(entry.text)["facts"]["pictures"] == [row.sha256 for row in rows]


def test_what_a_camera_wrote_is_not_kept(ordered, technician):
    with coming(PHOTOGRAPH, "Testperson Alpha.jpg") as photograph:
        question = ask_question(ordered, by=technician, text="So?", pictures=[photograph])

    row = question.pictures.get()
    with opened(row.storage_key) as stream:
        data = stream.read()
    assert b"Testperson" in PHOTOGRAPH and b"Testperson" not in data
    assert pixel_digest(data) == pixel_digest(PHOTOGRAPH)
    with Image.open(io.BytesIO(data)) as kept:
        assert set(kept.getexif()) <= {274}
    assert hashlib.sha256(data).hexdigest() == row.sha256
    # 24 x 16 pixels, turned by a quarter.
    assert (row.width_px, row.height_px) == (16, 24)
    assert "Testperson" not in str(vars(row)) and "Testperson" not in row.storage_key


def moving():
    frames = [Image.new("RGB", (8, 8), (shade, 0, 0)) for shade in (0, 200)]
    made = io.BytesIO()
    frames[0].save(made, "PNG", save_all=True, append_images=frames[1:])
    return made.getvalue()


REFUSED = {
    "mesh": (binary_stl(), "is no PNG or JPEG but STL"),
    "TIFF": (picture("TIFF"), "is no PNG or JPEG but TIFF"),
    "drawing": (b"<svg xmlns='http://www.w3.org/2000/svg'/>", "is a drawing"),
    "nothing": (b"", "is empty"),
    "cut off": (picture("JPEG", (300, 200))[:-900], "damaged"),
    "moving": (moving(), "is a moving picture"),
    "large": (PNG + bytes(rules.PICTURE_MAX_BYTES), "larger than 10 MiB"),
    # 6001 x 6000 pixels; all of one shade, so that its bytes are few.
    "pixels": ("wide", "more than 36 million pixels"),
}


def wide():
    made = io.BytesIO()
    Image.new("1", (6001, 6000)).save(made, "PNG")
    return made.getvalue()


@pytest.mark.parametrize("kind", REFUSED)
def test_what_is_no_picture_is_refused_by_its_name(ordered, technician, stored, kind):
    data, why = REFUSED[kind]
    data = wide() if data == "wide" else data

    with coming() as good, coming(data, "own thing") as bad:
        with pytest.raises(Refused) as refused:
            ask_question(ordered, by=technician, text="So?", pictures=[good, bad])

    (sentence,) = refused.value.sentences
    assert "own thing" in sentence and why in sentence
    assert not Question.objects.exists() and stored() == []


def test_each_picture_that_is_refused_is_named(ordered, technician):
    with coming(b"x", "one.png") as one, coming(b"", "two.png") as two:
        with pytest.raises(Refused) as refused:
            ask_question(ordered, by=technician, text="So?", pictures=[one, two])

    assert [sentence[:3] for sentence in refused.value.sentences] == ["one", "two"]


def test_too_many_pictures_are_refused(ordered, technician, stored):
    files = [coming() for _count in range(4)]

    with pytest.raises(Refused, match="At most 3 pictures"):
        ask_question(ordered, by=technician, text="So?", pictures=files)

    for file in files:
        file.close()
    assert stored() == []


@pytest.mark.parametrize(("text", "error"), [("Is Testperson ready?", Refused), (" ", Refused)])
def test_question_that_is_refused_keeps_no_picture(ordered, dentist, stored, text, error):
    with coming() as shot, pytest.raises(error):
        ask_question(ordered, by=dentist, text=text, pictures=[shot])

    assert not QuestionPicture.objects.exists() and stored() == []


def test_answer_that_is_refused_keeps_no_picture(ordered, technician, dentist, stored):
    question = ask_question(ordered, by=technician, text="So?")

    with coming() as shot, pytest.raises(PermissionDenied):
        answer_question(question, by=technician, text="So.", pictures=[shot])
    with coming() as shot, pytest.raises(Refused, match="patient's name"):
        answer_question(question, by=dentist, text="Testperson, so.", pictures=[shot])

    assert not QuestionPicture.objects.exists() and stored() == []


def test_erasing_takes_the_bytes_and_leaves_the_digest(
    ordered, technician, stored, django_capture_on_commit_callbacks
):
    with coming() as shot:
        question = ask_question(ordered, by=technician, text="So?", pictures=[shot])
    sha256 = question.pictures.get().sha256

    for _again in range(2):
        with django_capture_on_commit_callbacks(execute=True):
            erase_pictures(ordered)

    row = question.pictures.get()
    assert (row.storage_key, row.sha256) == ("", sha256)
    assert stored() == []
