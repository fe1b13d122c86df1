"""How does a picture come to be kept with a question: looked at, cleaned, stored?"""

import io
from contextlib import ExitStack, contextmanager

from django.db.models import Max
from django.utils.translation import gettext as _

from casework.evidence import formats, keeping
from casework.evidence.incoming import incoming_from
from casework.evidence.pictures import (
    ORIENTATION,
    PictureDamaged,
    open_picture,
    without_metadata,
)
from casework.evidence.rules import clean_name, size_in_words
from casework.questions import rules
from casework.questions.models import QuestionPicture
from orders.refusals import Refused

# Turns by which a picture is shown with its sides changed over (Exif, CIPA DC-008).
LAID_DOWN = (5, 6, 7, 8)


@contextmanager
def kept_pictures(incoming, *, case, by):
    """Keep these files while the block writes their rows; forgotten where it fails.

    `incoming` are ended Incomings. Yields the fields of a row for each, in their order. Raises
    Refused with a sentence for each file that is not taken; then none of them is.
    """
    if found := rules.objections_to_pictures(len(incoming)):
        raise Refused(*(_(sentence) for sentence in found))
    where = {"party_id": by.party_id, "code": case.code, "part": "questions"}
    with ExitStack() as stack:
        rows, sentences = [], []
        for file in incoming:
            try:
                clean, says = _cleaned(file)
            except Refused as refusal:
                sentences += refusal.sentences
            else:
                rows.append((stack.enter_context(clean), says))
        if sentences:
            raise Refused(*sentences)
        for clean, says in rows:
            kept = keeping.kept(clean.path, sha256=clean.sha256, **where)
            says["storage_key"] = stack.enter_context(kept)
        yield [says for _clean, says in rows]


def write_pictures(question, rows, *, is_of_answer=False):
    """Write the rows of what `kept_pictures` yields, in the caller's transaction."""
    last = question.pictures.aggregate(Max("number"))["number__max"] or 0
    QuestionPicture.objects.bulk_create(
        QuestionPicture(question=question, number=number, is_of_answer=is_of_answer, **says)
        for number, says in enumerate(rows, last + 1)
    )


def too_large(name):
    """The sentence on a picture that has too many bytes."""
    return _(
        "{name} is larger than {most}, the most that is taken for a picture of a question. Send"
        " it in a smaller size, or add it to the files of the case."
    ).format(name=clean_name(name), most=size_in_words(rules.PICTURE_MAX_BYTES))


def _cleaned(file):
    """(an Incoming of the picture without its metadata, what a row says of it)."""
    name, most = clean_name(file.name), rules.PICTURE_MAX_PIXELS
    if file.size > rules.PICTURE_MAX_BYTES:
        raise Refused(too_large(name))
    file_format = formats.format_of(file.path, name)
    if file_format not in rules.PICTURE_FORMATS:
        raise Refused(
            _(
                "{name} is no PNG or JPEG but {format}. A question takes screenshots and"
                " photographs; add anything else to the files of the case."
            ).format(name=name, format=file_format)
        )
    formats.check_picture(file.path, name, pixels_max=most, taken_max=most)
    with open_picture(file.path) as picture:
        size_px = picture.size
        if picture.getexif().get(ORIENTATION, 1) in LAID_DOWN:
            size_px = size_px[::-1]
        is_moving = file_format == "PNG" and getattr(picture, "n_frames", 1) > 1
    if is_moving:
        raise Refused(_("{name} is a moving picture. Send one that stands.").format(name=name))
    try:
        made, _removed, _pixels = without_metadata(file.path.read_bytes(), file_format)
    except PictureDamaged as problem:
        raise Refused(
            _("{name} cannot be sent: {problem}. Save or take it again.").format(
                name=name, problem=problem
            )
        ) from None
    clean = incoming_from(io.BytesIO(made), name)
    return clean, {
        "format": file_format,
        "width_px": size_px[0],
        "height_px": size_px[1],
        "size_bytes": clean.size,
        "sha256": clean.sha256,
    }
