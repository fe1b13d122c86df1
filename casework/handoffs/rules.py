"""What stands against a move, an answer or a withdrawal? Sentences; none means nothing does."""

# Who is responsible for what a move asks: shown with the sentence that is signed.
SENTENCES = {
    "send_order": (
        "I prescribe this work as described in prescription {number} and hand over the"
        " {file_count} files and {record_count} records of manifest {manifest_number}. I give"
        " my reasons for the {ask_count} asks listed in it."
    ),
    "approve_design": (
        "I approve design version {number} for making. I have read its findings and give my"
        " reasons for the {ask_count} asks listed in the manifest."
    ),
}

NEEDS = ("patient needed", "record only")


def objections_to_move(move, *, standing, is_on_hold, offer_to, cancel_asked, receiver, reason):
    """What stands against making `move`, from plain values.

    `standing` has `not_run`, `stops` and `open_asks`; `offer_to` is the name of the party an
    open offer waits at, or ""; `receiver` is the name of the receiving party, or "".
    """
    return tuple(
        _against_the_case(move, is_on_hold, offer_to, cancel_asked, receiver, reason)
    ) + tuple(objections_from_checks(standing))


def _against_the_case(move, is_on_hold, offer_to, cancel_asked, receiver, reason):
    if is_on_hold and move.name != "cancel":
        yield "The case is on hold. Take it off hold first."
    if offer_to:
        yield f"The case is offered to {offer_to}. Wait for the answer, or withdraw the offer."
    if cancel_asked:
        yield "Cancelling was asked for; the laboratory's acknowledgement comes first."
    if not receiver:
        yield f"No {move.to_side} is chosen for this case. Choose one first."
    if move.reason and not reason.strip():
        yield "Give the reason: it goes with the case."


def objections_from_checks(standing):
    """What the checks of a move, as they stand, have against it."""
    if standing.not_run:
        titles = "; ".join(check.title for check in standing.not_run)
        yield f"Not checked on what is recorded by now: {titles}. Press check first."
        return
    for finding in standing.stops:
        yield f"{finding.wrong} {finding.to_do}"
    for finding in standing.open_asks:
        yield f"Give a reason for: {finding.wrong}"


def objections_to_return(reasons):
    """What stands against returning an offer with these (text, needs) reasons."""
    if not reasons:
        yield "Give at least one reason, and say whether the patient is needed for it."
    for text, needs in reasons:
        if not text.strip():
            yield "A reason has no words. Say what is missing or wrong."
        if needs not in NEEDS:
            yield "Say of each reason whether the patient is needed or the record only."


def sentence_for(move_name, **values):
    """The sentence a person agrees to when signing a move."""
    return SENTENCES[move_name].format(**values)
