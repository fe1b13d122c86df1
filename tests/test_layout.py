"""What must hold of the layout: which way imports point, and that nothing is left loose."""

import ast
from pathlib import Path

import pytest
from django.apps import apps

from casework import checks, stages

ROOT = Path(__file__).resolve().parent.parent
ORDERS = (
    "refusals roles canonical events typed teeth objections records jobs typing_fields parties"
    " devices patients catalogue implants shades prescriptions documents"
).split()
CASEWORK = (
    "measure limits stages audit cases records evidence previews body_forms readings"
    " measurements designs fabrication visits schedule questions checks findings viewer"
    " documents handoffs boards reports exchange erasing"
).split()
# Wiring may import everything and is imported by nothing, or by wiring alone.
WIRING = (
    "settings urls wsgi celery tasks apps models launcher machine debian bundle gate deployment"
    " security holding embedded waking warming management templatetags demo writing_docs"
    " benchmark"
).split()
PURE_OF_DJANGO = ("django", "celery", "rest_framework", "waitress", "weasyprint")


def modules(app):
    for path in sorted((ROOT / app).rglob("*.py")):
        parts = path.relative_to(ROOT / app).with_suffix("").parts
        if "migrations" not in parts:
            yield path, parts


def imports_of(path, *, nested=False):
    """Dotted names imported by a file, at top level only or at any depth."""
    tree = ast.parse(path.read_text())
    nodes = ast.walk(tree) if nested else tree.body
    for node in nodes:
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module:
            yield node.module
            yield from (f"{node.module}.{alias.name}" for alias in node.names)


def topic_of(name, app):
    parts = name.split(".")
    return parts[1] if len(parts) > 1 and parts[0] == app else None


@pytest.mark.parametrize("app,order", [("orders", ORDERS), ("casework", CASEWORK)])
def test_every_topic_has_its_place_in_the_order(app, order):
    topics = {parts[0] for _path, parts in modules(app)} - {"__init__"}

    assert topics - set(order) - set(WIRING) == set()


@pytest.mark.parametrize("app,order", [("orders", ORDERS), ("casework", CASEWORK)])
def test_imports_point_to_the_left(app, order):
    wrong = []
    for path, parts in modules(app):
        own = parts[0]
        if own not in order:
            continue
        allowed = set(order[: order.index(own) + 1])
        for name in imports_of(path):
            topic = topic_of(name, app)
            if topic and topic not in allowed and topic in order + WIRING:
                wrong.append(f"{path.relative_to(ROOT)} imports {name}")

    assert wrong == []


def test_orders_do_not_know_casework():
    wrong = []
    for path, _parts in modules("orders"):
        tree = ast.parse(path.read_text())
        named = [
            node.value
            for node in ast.walk(tree)
            if isinstance(node, ast.Constant)
            and isinstance(node.value, str)
            and node.value.startswith("casework.")
        ]
        imported = [
            name for name in imports_of(path, nested=True) if name.startswith("casework")
        ]
        wrong += [f"{path.relative_to(ROOT)}: {what}" for what in named + imported]

    assert wrong == []


def pure_files():
    """Files that decide or compute and may not know Django or anything that does."""
    for path, parts in modules("casework"):
        if parts[0] in ("measure", "checks", "stages", "limits") or parts[-1] == "rules":
            yield path
    for path, parts in modules("orders"):
        if parts[0] in ("teeth", "typed", "roles", "canonical", "objections"):
            yield path
        elif parts[-1] == "rules":
            yield path


@pytest.mark.parametrize(
    "path", list(pure_files()), ids=lambda path: str(path.relative_to(ROOT))
)
def test_decisions_and_measures_know_no_django(path):
    names = list(imports_of(path, nested=True))

    assert [name for name in names if name.split(".")[0] in PURE_OF_DJANGO] == []
    if "measure" in path.parts:
        ours = [name for name in names if name.split(".")[0] in ("orders", "casework")]
        assert [n for n in ours if not n.startswith("casework.measure")] == []


def test_views_ask_other_topics_queries_not_their_tables():
    wrong = []
    for app in ("orders", "casework"):
        for path, parts in modules(app):
            if parts[-1] != "views":
                continue
            for name in imports_of(path):
                topic = topic_of(name, app)
                if topic and topic != parts[0] and name.split(".")[2:3] == ["models"]:
                    wrong.append(f"{path.relative_to(ROOT)} imports {name}")

    assert wrong == []


def test_nothing_imports_the_tasks_but_what_wakes_them():
    importers = {
        str(path.relative_to(ROOT))
        for app in ("orders", "casework")
        for path, _parts in modules(app)
        if "casework.tasks" in imports_of(path, nested=True)
    }

    assert importers <= {"casework/waking.py", "casework/management/commands/work.py"}


def test_every_check_is_needed_and_every_needed_one_exists():
    assert set(checks.all_names()) == stages.checks_needed()


def test_every_paper_issued_exists_with_its_template():
    for name in stages.papers_issued():
        apps_with_it = [
            app
            for app in ("orders", "casework")
            if (ROOT / app / "documents" / f"{name}.py").exists()
        ]
        assert len(apps_with_it) == 1, name
        assert (ROOT / "templates" / apps_with_it[0] / "documents" / f"{name}.html").exists()


@pytest.mark.parametrize("name", sorted(checks.all_names()))
def test_every_check_has_its_test(name):
    assert (ROOT / "tests" / "casework" / "checks" / f"test_{name}.py").exists()


@pytest.mark.parametrize(
    "model",
    [m for app in ("orders", "casework") for m in apps.get_app_config(app).get_models()],
    ids=lambda model: model._meta.label,
)
def test_every_table_names_its_personal_fields(model):
    if model._meta.auto_created:
        return
    assert "PERSONAL" in vars(model), f"{model._meta.label} does not state PERSONAL"
    assert {*model.PERSONAL} <= {field.name for field in model._meta.get_fields()}


def test_every_file_says_in_its_first_line_what_it_answers():
    silent = []
    for app in ("orders", "casework", "tests"):
        for path, _parts in modules(app):
            text = path.read_text()
            if text.strip() and not text.lstrip().startswith(('"""', "#")):
                silent.append(str(path.relative_to(ROOT)))

    assert silent == []
