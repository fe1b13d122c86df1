"""What may be done with a file that is there: confirmed, replaced, erased, and by whom?"""

import io
from datetime import date

import pytest
from django.core.exceptions import PermissionDenied

from casework.audit.models import Entry
from casework.evidence import services
from casework.evidence.models import Derived, Evidence
from casework.evidence.services import Slot
from casework.handoffs.models import HandedFile, Handoff
from orders.refusals import Refused
from tests.casework.evidence import making

ARCH = {"role": "working_arch", "jaw": "upper"}


@pytest.fixture
def received(case, dentist):
    def receive(data=None, name="upper.stl", by=dentist, **says):
        return services.receive_file(
            case,
            by=by,
            stream=io.BytesIO(data or making.arch_stl()),
            name=name,
            slot=Slot(**(says or ARCH)),
        ).evidence

    return receive


def hand_over(case, evidence, to, by, state="accepted"):
    handoff = Handoff.objects.create(
        case=case,
        number=case.handoffs.count() + 1,
        move="send_order",
        source="scan capture",
        target="design",
        from_party=by.party,
        to_party=to,
        state=state,
        offered_by=by,
        offered_at=case.stage_since,
    )
    return HandedFile.objects.create(
        handoff=handoff, evidence=evidence, sha256="0" * 64, name="handed.stl"
    )


def test_a_person_confirms_what_a_file_is(received, dentist):
    evidence = received(role="")
    assert not evidence.is_confirmed

    services.confirm_file(
        evidence, by=dentist, role="opposing_arch", jaw="lower", taken_on=date(2026, 3, 4)
    )

    evidence.refresh_from_db()
    assert (evidence.role, evidence.jaw, evidence.is_confirmed) == (
        "opposing_arch",
        "lower",
        True,
    )
    assert evidence.taken_on == date(2026, 3, 4)
    assert "opposing_arch" in Entry.objects.get(kind="evidence.changed").text


@pytest.mark.parametrize(
    ("says", "words"),
    [
        ({"role": "working_arch"}, "say which jaw"),
        ({"role": "margins", "jaw": "upper"}, "say which sites"),
        ({"role": "photograph"}, "format STL cannot be"),
        ({"role": "tooth fairy"}, "choose its role"),
        ({"role": "bite_scan", "jaw": "left"}, "choose upper, lower"),
        ({"role": "radiograph", "sites": ("99",)}, "99 is no permanent tooth"),
    ],
)
def test_what_does_not_go_together_is_not_confirmed(received, dentist, says, words):
    evidence = received()

    with pytest.raises(Refused, match=words):
        services.confirm_file(evidence, by=dentist, **says)

    evidence.refresh_from_db()
    assert evidence.role == "working_arch"


def test_whole_proposals_are_confirmed_in_one_go(received, case, dentist):
    whole = received(name="lower bite.stl", role="")
    lacking = received(making.binary_stl(), name="margins.stl", role="")

    assert services.confirm_proposals(case, by=dentist) == [whole.number]

    whole.refresh_from_db()
    lacking.refresh_from_db()
    assert (whole.is_confirmed, lacking.is_confirmed) == (True, False)
    with pytest.raises(Refused, match="open each file"):
        services.confirm_proposals(case, by=dentist)


def test_the_day_typed_for_all_is_that_of_files_that_say_none(received, case, dentist):
    silent = received(name="lower bite.stl", role="")
    dated = received(
        making.binary_stl(),
        name="upper.stl",
        role="opposing_arch",
        jaw="upper",
        taken_on=date(2026, 3, 2),
    )

    services.confirm_proposals(case, by=dentist, taken_on=date(2026, 3, 9))

    silent.refresh_from_db()
    dated.refresh_from_db()
    assert (silent.taken_on, dated.taken_on) == (date(2026, 3, 9), date(2026, 3, 2))


def test_what_was_handed_over_is_replaced_not_changed(received, case, dentist, laboratory):
    evidence = received()
    hand_over(case, evidence, laboratory, dentist)

    with pytest.raises(Refused, match="was handed over as it is"):
        services.confirm_file(evidence, by=dentist, role="opposing_arch", jaw="lower")

    services.confirm_file(evidence, by=dentist, role="working_arch", jaw="upper")


def test_a_newer_file_takes_the_place_of_an_older_one(received, dentist):
    old, new = received(), received(making.binary_stl())

    services.supersede_file(old, by=dentist, new=new)

    old.refresh_from_db()
    assert old.superseded_by == new and not old.is_current
    assert '"by_number":2' in Entry.objects.get(kind="evidence.superseded").text
    with pytest.raises(Refused, match="replaced already"):
        services.supersede_file(old, by=dentist, new=new)


def test_a_file_may_be_replaced_in_the_same_upload(received, case, dentist):
    old = received()

    new = received(making.binary_stl(), **ARCH, replaces=old)

    old.refresh_from_db()
    assert old.superseded_by == new


def test_another_partys_file_is_not_changed(received, case, dentist, technician):
    evidence = received()

    for act in (
        lambda: services.confirm_file(evidence, by=technician, **ARCH),
        lambda: services.settle_unit(evidence, by=technician, unit="inch"),
    ):
        with pytest.raises(Refused, match="belongs to another party"):
            act()


def test_the_front_desk_adds_no_files(case, front_desk, stored):
    with pytest.raises(PermissionDenied):
        services.receive_file(case, by=front_desk, stream=io.BytesIO(b"x"), name="a.stl")
    assert not stored()


@pytest.mark.django_db(transaction=True)
def test_erasing_takes_bytes_and_name_and_leaves_digest_and_copy(received, run_jobs, stored):
    evidence = received(name="Testperson upper.stl")
    run_jobs()
    assert len([path for path in stored() if "previews" not in path.parts]) == 2

    services.erase_personal(Evidence.objects.get())
    services.erase_personal(Evidence.objects.get())

    evidence.refresh_from_db()
    assert (evidence.original_name, evidence.storage_key) == ("", "")
    assert len(evidence.sha256) == 64
    (left,) = [path for path in stored() if "previews" not in path.parts]
    assert Derived.objects.get().sha256 in left.name


def test_no_name_of_a_file_stands_in_the_trail(received, run_jobs):
    received(name="Testperson upper.stl")
    run_jobs()

    assert not Entry.objects.filter(text__contains="Testperson").exists()
    assert {"evidence.received", "evidence.read"} <= set(
        Entry.objects.values_list("kind", flat=True)
    )
