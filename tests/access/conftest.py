"""What do the tests of access find ready: one told case, all its parties seated, outsiders."""

import logging
from pathlib import Path

import pytest
from django.core.files.storage import storages
from django.db import transaction
from django.test import override_settings

from tests.access.world import build_world

HERE = Path(__file__).resolve().parent


def pytest_collection_modifyitems(items):
    """One process walks them all, so that the case is told as rarely as can be."""
    for item in items:
        if HERE in item.path.parents:
            item.add_marker(pytest.mark.xdist_group("access"))


# Of a module: its transaction must be over before any other test begins, and only the end of a
# module is certain to come.
@pytest.fixture(scope="module")
def world(django_db_setup, django_db_blocker, demo_files, tmp_path_factory):
    """Built once and rolled back at the end; a test's own writes are rolled back before."""
    folder = tmp_path_factory.mktemp("world")
    with django_db_blocker.unblock(), transaction.atomic():
        with override_settings(**_places(folder)):
            storages._storages.clear()
            built = build_world(demo_files)
        built.folder = folder
        yield built
        transaction.set_rollback(True)
    storages._storages.clear()


@pytest.fixture(autouse=True)
def own_files(world, settings):
    """The files of the told case lie where these tests look for them."""
    storages._storages.clear()
    for name, value in _places(world.folder).items():
        setattr(settings, name, value)
    yield
    storages._storages.clear()


@pytest.fixture(autouse=True)
def quiet():
    """Thousands of refusals are wanted here; writing each to the log takes half the time."""
    logging.disable(logging.CRITICAL)
    yield
    logging.disable(logging.NOTSET)


def _places(folder):
    from django.conf import settings

    return {
        "DATA": folder,
        "FILE_UPLOAD_TEMP_DIR": folder / "incoming",
        "EMAIL_FILE_PATH": folder / "mail",
        "STORAGES": settings.STORAGES
        | {
            "default": {
                "BACKEND": "django.core.files.storage.FileSystemStorage",
                "OPTIONS": {"location": folder / "files"},
            }
        },
    }
