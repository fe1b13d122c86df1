"""How is a version started, filled, fixed, approved and voided?"""

import pytest
from django.core.exceptions import PermissionDenied

from casework.audit.models import Entry
from casework.cases.models import CaseParty
from casework.designs import services
from casework.designs.queries import current_version, digest_of_version
from casework.stages import Stage
from orders.records import ChangedMeanwhile
from orders.refusals import Refused
from tests.bench import (
    NOON,
    make_component,
    make_mesh_file,
    make_ordered_case,
    make_version,
    put_at,
)

pytestmark = pytest.mark.django_db


@pytest.fixture
def ordered(dentist, laboratory):
    return make_ordered_case(dentist, laboratory)


def test_next_version_takes_the_stock_parts_along(ordered, technician):
    first = make_version(ordered, technician, state="submitted")
    services.return_version(first, by=technician, reason="Contact too tight.", at=NOON)

    second = services.start_version(ordered, by=technician)

    assert second.number == 2
    assert (
        sorted(part.kind for part in second.parts.all())
        == ["base"] * 2 + ["retaining screw"] * 2
    )
    assert current_version(ordered) == second


def test_only_one_draft_at_a_time(ordered, technician):
    services.start_version(ordered, by=technician)

    with pytest.raises(Refused, match="Version 1 is still a draft"):
        services.start_version(ordered, by=technician)

    assert ordered.designs.count() == 1


def test_discarded_draft_stays_on_record_and_does_not_count(ordered, technician):
    version = services.start_version(ordered, by=technician)

    services.discard_version(version, by=technician, reason="Started by mistake.")

    assert current_version(ordered) is None
    assert ordered.designs.get().state == "superseded"
    assert services.start_version(ordered, by=technician).number == 2


def test_submitted_version_is_never_changed(ordered, technician):
    version = make_version(ordered, technician, state="submitted")
    digest = version.digest
    part = version.parts.first()

    for change in (
        lambda: services.save_notes(version, by=technician, notes="Other."),
        lambda: services.remove_part(part, by=technician),
        lambda: services.add_stock_part(
            version,
            by=technician,
            kind="try-in screw",
            sites=["45"],
            component=make_component("try-in screw"),
        ),
    ):
        with pytest.raises(Refused, match="stays as it is"):
            change()

    version.refresh_from_db()
    assert version.digest == digest == digest_of_version(version)
    assert version.parts.count() == 5


def test_digest_follows_parts_files_and_notes(ordered, technician):
    version = make_version(ordered, technician)
    seen = {version.digest}

    for step in (
        lambda: services.save_notes(version, by=technician, notes="Look at 46."),
        lambda: services.remove_part(version.parts.get(kind="bridge"), by=technician),
        lambda: services.add_made_part(
            version,
            by=technician,
            kind="bridge",
            sites=["45", "46", "47"],
            evidence=make_mesh_file(ordered, technician),
        ),
    ):
        step()
        version.refresh_from_db()
        assert version.digest == digest_of_version(version)
        seen.add(version.digest)

    assert len(seen) == 4


def test_notes_saved_from_a_stale_page_are_refused(ordered, technician):
    version = make_version(ordered, technician)
    seen = version.digest
    services.save_notes(version, by=technician, notes="First tab.", seen=seen)

    with pytest.raises(ChangedMeanwhile):
        services.save_notes(version, by=technician, notes="Second tab.", seen=seen)

    version.refresh_from_db()
    assert version.notes == "First tab."


def test_submitting_twice_is_refused(ordered, technician):
    version = make_version(ordered, technician, state="submitted")

    with pytest.raises(Refused, match="submitted already"):
        services.submit_version(version, by=technician, at=NOON)
    with pytest.raises(Refused, match="no design version"):
        services.submit_version(None, by=technician, at=NOON)


def test_empty_version_is_not_submitted(ordered, technician):
    version = services.start_version(ordered, by=technician)

    with pytest.raises(Refused, match="has no parts"):
        services.submit_version(version, by=technician, at=NOON)


def test_d01_second_approval_of_a_version_is_refused(ordered, technician, dentist):
    version = make_version(ordered, technician, state="submitted")
    stale = ordered.designs.get()
    services.approve_version(version, by=dentist, at=NOON)

    with pytest.raises(Refused, match="is approved by now"):
        services.approve_version(stale, by=dentist, at=NOON)

    entries = Entry.objects.filter(kind="design.ended", case=ordered.code)
    assert entries.count() == 1


def test_d02_current_version_is_the_newest_one(ordered, technician, dentist):
    first = make_version(ordered, technician, state="submitted")
    services.return_version(first, by=dentist, reason="Open the embrasure.", at=NOON)
    second = make_version(ordered, technician, state="submitted")

    assert current_version(ordered) == second
    assert first.digest != second.digest
    with pytest.raises(Refused, match="Version 1 is returned"):
        services.approve_version(first, by=dentist, at=NOON)


def test_d03_voided_approval_is_kept_and_counts_no_more(ordered, technician, dentist):
    version = make_version(ordered, technician, state="approved", dentist=dentist)

    services.void_approval(ordered, by=technician, reason="Margin of 47 moved.", at=NOON)

    version.refresh_from_db()
    assert (version.state, version.end_reason) == ("voided", "Margin of 47 moved.")
    assert not ordered.designs.filter(state="approved").exists()
    assert services.start_version(ordered, by=technician).number == 2


def test_d09_old_technician_is_told_who_has_the_case(ordered, technician, second_technician):
    version = make_version(ordered, technician)
    CaseParty.objects.filter(case=ordered, side="laboratory").update(assigned=second_technician)

    with pytest.raises(Refused, match="Tilda Bench"):
        services.save_notes(version, by=technician, notes="Too late.")


def test_file_of_another_case_or_role_is_refused(ordered, technician, dentist, laboratory):
    version = services.start_version(ordered, by=technician)
    scan = make_mesh_file(ordered, technician, role="working_arch")
    strange = make_mesh_file(make_ordered_case(dentist, laboratory), technician)
    theirs = make_mesh_file(ordered, dentist)

    def add(evidence):
        services.add_made_part(
            version, by=technician, kind="bridge", sites=["45", "46", "47"], evidence=evidence
        )

    with pytest.raises(Refused, match="not marked as a part"):
        add(scan)
    with pytest.raises(Refused, match="not brought by your laboratory"):
        add(theirs)
    with pytest.raises(PermissionDenied):
        add(strange)


def test_dentist_marks_a_submitted_version_only(ordered, technician, dentist):
    version = make_version(ordered, technician)
    put_at(ordered, Stage.DESIGN_APPROVAL)

    with pytest.raises(Refused, match="only one that waits"):
        services.mark_version(version, by=dentist, text="Flatter.")

    services.submit_version(version, by=technician, at=NOON)
    mark = services.mark_version(
        version, by=dentist, text="Flatter at 46.", part=version.parts.get(kind="bridge")
    )
    assert version.marks.get() == mark


def test_name_of_the_patient_stays_out_of_notes_and_marks(ordered, technician, dentist):
    version = make_version(ordered, technician)

    with pytest.raises(Refused, match="patient's name"):
        services.save_notes(version, by=technician, notes="For Quirina.")


def test_nobody_designs_outside_the_laboratory_or_at_another_stage(
    ordered, dentist, technician
):
    with pytest.raises(PermissionDenied):
        services.start_version(ordered, by=dentist)

    put_at(ordered, Stage.FABRICATION)
    with pytest.raises(Refused, match="not the time"):
        services.start_version(ordered, by=technician)
