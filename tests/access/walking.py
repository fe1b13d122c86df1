"""How is an address asked for as somebody, and what does the answer have to be?"""

from contextlib import contextmanager, nullcontext
from http.cookies import SimpleCookie

from django.db import connection, transaction
from django.test import Client
from django.urls import get_resolver, reverse

from tests.access.rows import OUTSIDE

_MAY_WRITE = ("django_session", "axes_")
_WRITES = ("INSERT", "UPDATE", "DELETE", "REPLACE")


class Wrote(AssertionError):
    """A request that may only read has written."""


def all_addresses():
    """Every url name and its pattern, by walking the resolver."""
    found = {}

    def walk(resolver):
        for pattern in resolver.url_patterns:
            if hasattr(pattern, "url_patterns"):
                walk(pattern)
            else:
                found[pattern.name] = pattern

    walk(get_resolver())
    return found


def args_of(world):
    """For each argument a row may name: the keyword of the address and its value."""
    case = world.case
    return {
        "code": ("code", case.code),
        "patient": ("code", world.patient.code),
        "member": ("pk", world.members["hygienist"].pk),
        "device": ("pk", world.device.pk),
        "uid": ("uidb64", "MQ"),
        "token": ("token", "no-token"),
        "kind": ("kind", "try-in"),
        "booked": ("booked", "booked"),
        "load_list": ("name", "late"),
        "board": ("board", "decide"),
        "section": ("section", "plan"),
        "component": ("pk", world.component.pk),
        "own_scan_body": ("pk", world.own_scan_body.pk),
        "body_form": ("form", world.body_form.pk),
        "material": ("pk", world.material.pk),
        "guide": ("pk", world.guide.pk),
        "implant": ("pk", case.order.patient.implants.get().pk),
        "reading": ("pk", case.readings.first().pk),
        "scan_body": ("pk", case.scan_bodies.first().pk),
        "file": ("number", world.scan.number),
        "design": ("number", 1),
        "coloured": ("file", world.part_file.number),
        "field": ("name", "thickness"),
        "picture": ("index", 0),
        "design_part": ("pk", case.designs.get().parts.first().pk),
        "part": ("pk", case.work_parts.first().pk),
        "pack": ("name", "dispatch_for_try_in"),
        "parcel": ("pk", case.parcels.get().pk),
        "visit": ("pk", world.visit.pk),
        "first": ("number", 1),
        "site": ("site", "36"),
        "follow_up": ("pk", case.follow_ups.order_by("pk").last().pk),
        "question": ("number", world.questions["lab"].number),
        "question_picture": ("picture", world.question_picture.number),
        "run": ("pk", world.run.pk),
        "move": ("name", "close"),
        "handoff": ("number", world.order_handoff.number),
        "condition": ("pk", world.condition.pk),
        "paper": ("paper_id", world.paper.pk),
    }


def address(world, name, row, **other):
    if not hasattr(world, "args"):
        world.args = args_of(world)
    return reverse(name, kwargs=dict(world.args[key] for key in row.args.split()) | other)


def client_for(member, **more):
    """A client on which the member is signed in; `member` None: nobody is."""
    client = Client(**more)
    if member is not None:
        client.force_login(member.person, backend="django.contrib.auth.backends.ModelBackend")
        session = client.session
        session["membership"] = member.pk
        session.save()
    return client


def expected(row, key, who):
    """The status a member must get: None where the act is theirs."""
    if key in who.split():
        return None
    is_about_a_case = row.args.startswith("code")
    if key in row.hidden_from.split() or (is_about_a_case and key in OUTSIDE.split()):
        return 404
    return 403


@contextmanager
def rolled_back():
    """What a request wrote is taken back, its messages and sessions too."""
    with transaction.atomic():
        yield
        transaction.set_rollback(True)


@contextmanager
def nothing_written():
    """Any writing statement raises Wrote; sessions and the throttle's table apart."""

    def watch(execute, sql, params, many, context):
        if sql.lstrip().upper().startswith(_WRITES) and not any(
            table in sql for table in _MAY_WRITE
        ):
            raise Wrote(sql[:120])
        return execute(sql, params, many, context)

    with connection.execute_wrapper(watch):
        yield


def ask(client, method, url, data=None, *, is_kept=False):
    """The answer to one request; what it changed, in rows and cookies, is taken back."""
    cookies = client.cookies.output()
    with nullcontext() if is_kept else rolled_back():
        if method == "GET":
            with nullcontext() if is_kept else nothing_written():
                answer = client.get(url)
        else:
            is_json = url.startswith("/api/") and "/moves/" in url
            kind = {"content_type": "application/json"} if is_json else {}
            answer = client.post(url, data or {}, **kind)
        if answer.streaming:
            answer.body = b"".join(answer.streaming_content)
        else:
            answer.body = answer.content
    if client.cookies.output() != cookies:
        client.cookies = SimpleCookie(
            {
                part.split("=")[0]: part.split("=")[1]
                for part in (line.split(": ")[1].split(";")[0] for line in cookies.splitlines())
            }
        )
    return answer


@contextmanager
def at_stage(world, stage):
    """The case stands at `stage` meanwhile."""
    from casework.cases.models import Case

    with transaction.atomic():
        if stage:
            Case.objects.filter(pk=world.case.pk).update(stage=stage)
        yield
        if stage:
            transaction.set_rollback(True)
