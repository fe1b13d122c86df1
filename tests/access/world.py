"""Which case, whose members and which outsiders does every address meet?"""

from datetime import timedelta
from types import SimpleNamespace

import numpy as np
from django.utils import timezone

from casework.cases.models import CaseParty
from casework.cases.services import refresh_summary
from casework.demo.scenario import load_scenario
from casework.demo.story import Story
from casework.demo.works import WORKS
from casework.findings.measuring import PICTURES, pictures_key
from casework.handoffs.models import Condition, HandedFile, Handoff
from casework.measurements.fields import packed
from casework.measurements.services import keep_measurement
from casework.questions.models import Question
from casework.questions.pictures import kept_pictures, write_pictures
from orders.catalogue.models import Component, Material
from orders.devices.services import register_device
from orders.jobs.models import Job
from orders.patients.models import PatientIdentity
from orders.prescriptions.models import Prescription
from orders.shades.models import ShadeGuide
from tests import factories
from tests.casework.body_forms.making import make_scan_body, put_mesh
from tests.casework.questions.making import coming

# Nowhere else in the world, so that finding it in an answer is a leak.
NAME = "Xanthippa Unverwechselbar"
PRACTICE_ROLES = {
    "dentist": "dentist",
    "surgeon": "surgeon",
    "assistant": "assistant",
    "hygienist": "hygienist",
    "desk": "front desk",
    "lead": "coordinator",
    "admin": "administrator",
}


def build_world(demo_files):
    cast = load_scenario()
    patient = cast.patients["bridge"]
    PatientIdentity.objects.filter(patient=patient).update(name=NAME, chart_number="CH-4711")
    patient.refresh_from_db()
    story = Story(
        cast,
        WORKS["crown"],
        patient,
        demo_files[WORKS["crown"].key],
        begun_at=timezone.now() - timedelta(days=40),
        finish_jobs=_run_jobs_but_prints,
    ).run_to("follow_up")
    world = SimpleNamespace(case=story.case, patient=patient, parties=cast.parties, cast=cast)
    world.members = _members(cast)
    world.other = _others(world)
    world.case.refresh_from_db()
    _seat_everybody(world)
    _objects(world)
    _print_one(world)
    return world


def _run_jobs_but_prints():
    """Inspections and gates; printing every paper would take most of the time."""
    from casework.tasks import run_job
    from orders.jobs.services import sweep

    Job.objects.filter(kind__in=["papers.print", "notices.mail"]).delete()
    while due := sweep():
        for job in due:
            run_job(job.pk)
        Job.objects.filter(kind__in=["papers.print", "notices.mail"]).delete()


def _members(cast):
    """Everybody on the case, one role each."""
    parties, told = cast.parties, cast.members
    made = {
        key: factories.make_member(parties["practice"], role)
        for key, role in PRACTICE_ROLES.items()
        if key not in ("dentist", "assistant", "desk")
    }
    return made | {
        "dentist": told["dentist"],
        "assistant": told["assistant"],
        "desk": told["desk"],
        "placing_surgeon": told["surgeon"],
        "placing_lead": factories.make_member(parties["surgery"], "coordinator"),
        "technician": told["technician"],
        "lab_lead": factories.make_member(parties["laboratory"], "coordinator"),
        "lab_admin": factories.make_member(parties["laboratory"], "administrator"),
        "processor": told["processor"],
        "scan_lead": factories.make_member(parties["scans"], "coordinator"),
        "miller": told["miller"],
        "mill_lead": factories.make_member(parties["mill"], "coordinator"),
    }


def _others(world):
    """Another practice and another laboratory, with a case of their own at design."""
    practice = factories.make_party("practice", name="Practice by the Weir")
    laboratory = factories.make_party(
        "laboratory", name="Laboratory at the Ferry", partner_of=practice
    )
    make = factories.make_member
    world.members |= {
        "other_dentist": make(practice, "dentist"),
        "other_admin": make(practice, "administrator"),
        "other_technician": make(laboratory, "technician"),
        "other_lab_lead": make(laboratory, "coordinator"),
        "other_lab_admin": make(laboratory, "administrator"),
    }
    case = factories.make_case(world.members["other_dentist"], laboratory=laboratory)
    CaseParty.objects.filter(case=case, party=laboratory).update(seen_from=timezone.now())
    case.stage = "design"
    case.save()
    refresh_summary(case)
    return SimpleNamespace(practice=practice, laboratory=laboratory, case=case)


OUTSIDERS = ("other_dentist", "other_admin", "other_technician", "other_lab_lead",
             "other_lab_admin")  # fmt: skip


def _seat_everybody(world):
    sides = {"surgery": "placing practice", "scans": "scan centre", "mill": "milling centre"}
    for key, side in sides.items():
        CaseParty.objects.create(
            case=world.case, party=world.parties[key], side=side, seen_from=timezone.now()
        )
    scans = [row for row in world.case.evidence.filter(derived__isnull=False) if row.jaw]
    world.scan, world.part_file = scans[0], world.case.evidence.get(role="design_part")
    world.to_scans = _hand(world, "send_scans", "scan capture", "scan processing", "scans")
    world.to_mill = _hand(world, "send_to_milling", "fabrication", "milling", "mill")
    for handoff, file in ((world.to_scans, world.scan), (world.to_mill, world.part_file)):
        HandedFile.objects.create(
            handoff=handoff,
            evidence=file,
            sha256=file.derived.sha256,
            name=file.derived.name,
        )
    refresh_summary(world.case)


def _hand(world, move, source, target, key):
    number = world.case.handoffs.order_by("-number").first().number + 1
    sender = "technician" if key == "mill" else "dentist"
    return Handoff.objects.create(
        case=world.case,
        number=number,
        move=move,
        source=source,
        target=target,
        from_party=world.members[sender].party,
        to_party=world.parties[key],
        offered_by=world.members[sender],
        offered_at=timezone.now(),
        state="accepted",
        manifest="{}",
    )


def _objects(world):
    """What an address with a number in it needs, one of each kind."""
    case, practice, now = world.case, world.parties["practice"], timezone.now()
    world.draft = Prescription.objects.create(order=case.order, number=9)
    order = case.handoffs.get(move="send_order")
    world.order_handoff = order
    world.condition = Condition.objects.create(
        handoff=order, text="A longer screw, please.", before_move="close"
    )
    asked = {
        "lab": (world.members["technician"], practice),
        "scans": (world.members["processor"], practice),
        "mill": (world.members["miller"], world.parties["laboratory"]),
    }
    world.questions = {}
    for number, (key, (by, to)) in enumerate(asked.items(), 1):
        world.questions[key] = Question.objects.create(
            case=case,
            number=number,
            text=f"A question from the {key} only.",
            asked_by=by,
            asked_at=now,
            to_party=to,
        )
    with kept_pictures([coming()], case=case, by=asked["lab"][0]) as shown:
        write_pictures(world.questions["lab"], shown)
    world.question_picture = world.questions["lab"].pictures.get()
    world.component = Component.objects.create(
        owner=practice, kind="driver", part_number="OWN-1", name="Own driver", source="calliper"
    )
    world.own_scan_body = make_scan_body(practice, part_number="OWN-2")
    world.body_form = put_mesh(world.own_scan_body, by=world.members["dentist"])
    world.material = Material.objects.create(
        owner=practice, name="Own material", family="zirconia", source="invented"
    )
    world.device, _secret = register_device(
        by=world.members["admin"], name="Chair 2", password=factories.PASSWORD
    )
    world.guide = ShadeGuide.objects.get(owner=practice)
    world.visit = case.appointments.order_by("pk").first()
    world.run = case.gate_runs.first()
    _draw(world)
    world.paper = case.order.papers.filter(kind="order_sheet").first()
    refresh_summary(case)


def _draw(world):
    """One picture and one coloured length; measuring the design again would take longest."""
    part = {"file": f"file {world.part_file.number}", "name": "thickness", "limits": []}
    keep_measurement(
        world.case,
        evidence=None,
        method=PICTURES,
        version="told",
        input_digest=pictures_key(world.case),
        values={
            "results": [],
            "handed": {
                "pictures": [{"title": "Crown", "alt": "Crown", "png": "", "pins": []}],
                "fields": [part | {"um": packed(np.ones(3))}],
            },
        },
    )


def _print_one(world):
    from casework.tasks import run_job
    from orders.documents.services import print_again

    print_again(world.paper)
    run_job(Job.objects.get(kind="papers.print", subject_id=world.paper.pk).pk)
    Job.objects.all().delete()
    world.paper.refresh_from_db()
