"""How is a handoff signed? A row: person, role, sentence, digest of the manifest, time."""

from django.utils.translation import gettext as _

from casework.audit.services import record
from casework.handoffs import effects, rules
from casework.handoffs.models import Signature
from casework.handoffs.refusals import MovedMeanwhile, MoveRefused
from orders.parties.passwords import require_password


def sign_handoff(handoff, move, by, password, seen, standing, at):
    """Write the signature: the sentence agreed to, over the manifest and what is signed.

    For services that `counts_wrong_passwords`.
    """
    wrong = _("The password is not yours. Nothing was signed; enter it again.")
    require_password(by.person, password, otherwise=wrong)
    row = effects.subject_to_sign(handoff.case, move)
    if row is None:
        raise MoveRefused(_("There is nothing to sign yet."))
    digest = row.digest if isinstance(row.digest, str) else row.digest()
    if seen and seen != digest:
        raise MovedMeanwhile(
            _(
                "{what} {number} has come since this page was opened. Nothing was signed. Read"
                " it and sign again."
            ).format(what=_(row._meta.verbose_name).capitalize(), number=row.number)
        )
    effects.lock_signed(row, by=by, at=at)
    sentence = rules.sentence_for(
        move.name,
        number=row.number,
        file_count=handoff.files.count(),
        record_count=handoff.manifest.count('"revision"'),
        manifest_number=handoff.manifest_number,
        ask_count=len([finding for finding in standing.asks if finding.answer]),
    )
    signature = Signature.objects.create(
        case=handoff.case,
        handoff=handoff,
        by=by,
        by_name=by.person.name,
        role="dentist",
        licence_number=by.person.licence_number,
        sentence=sentence,
        manifest_digest=handoff.manifest_digest,
        subject=row.subject,
        subject_digest=digest,
        at=at,
    )
    record(
        "signature.given",
        subject=row.subject,
        by=by,
        case=handoff.case.code,
        facts={
            "sentence": sentence,
            "role": signature.role,
            "manifest_digest": signature.manifest_digest,
            "subject": row.subject,
            "subject_digest": digest,
        },
        at=at,
    )
