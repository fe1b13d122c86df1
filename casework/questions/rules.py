"""Whom may a side ask, and how may a question be answered?"""

from casework.limits import bytes_of, limit
from casework.stages import Side

PLACING = "placing practice"
WRITTEN, CALL = "written", "call noted"
HOW = (WRITTEN, CALL)
# A side and those it may ask; the first one unless another is named.
ASKS = {
    Side.PRACTICE: (Side.LABORATORY, Side.SCAN_CENTRE, PLACING),
    Side.LABORATORY: (Side.PRACTICE, Side.MILLING_CENTRE),
    Side.SCAN_CENTRE: (Side.PRACTICE,),
    Side.MILLING_CENTRE: (Side.LABORATORY,),
    PLACING: (Side.PRACTICE,),
}
LONGEST = 4000
# What a browser writes of a screen, and what a telephone's camera writes.
PICTURE_FORMATS = ("PNG", "JPEG")
# Of a question and of its answer each. The largest screens sold show 7680 x 4320 pixels.
PICTURES_MAX = int(limit("question_pictures").value)
PICTURE_MAX_BYTES = bytes_of("question_picture_file_size")
PICTURE_MAX_PIXELS = int(limit("question_picture_size").value * 1_000_000)


def objections_to_pictures(count: int):
    """Why so many pictures cannot go with a question or an answer."""
    if count <= PICTURES_MAX:
        return ()
    return (
        f"At most {PICTURES_MAX} pictures are taken at once; {count} came. Leave some out.",
    )


def objections_to_question(*, text: str, side: str, to_side: str, has_seen: bool):
    """Why a question cannot be asked."""
    found = []
    if not text.strip():
        found.append("Type the question.")
    if len(text) > LONGEST:
        found.append(f"A question has at most {LONGEST} characters; this one has {len(text)}.")
    if to_side not in ASKS.get(side, ()):
        found.append(f"The {side} does not ask the {to_side}.")
    elif not has_seen:
        found.append(
            f"The {to_side} does not see this case yet: it is asked once something was offered"
            " to it."
        )
    return tuple(found)


def objections_to_answer(*, text: str, how: str, is_open: bool):
    """Why a question cannot be answered so."""
    found = []
    if not is_open:
        found.append("The question is answered already. Ask a new one if something is left.")
    if how not in HOW:
        found.append(f"Say whether the answer is {' or '.join(HOW)}.")
    if not text.strip():
        found.append(
            "Type what was said in the call, and with whom."
            if how == CALL
            else "Type the answer."
        )
    if len(text) > LONGEST:
        found.append(f"An answer has at most {LONGEST} characters; this one has {len(text)}.")
    return tuple(found)
