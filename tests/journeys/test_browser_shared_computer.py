"""Do people change at one computer, with nothing lost, as they do at a chair?"""

import pytest

from orders.devices.models import Device
from tests.browsing import NARROW

pytestmark = [
    pytest.mark.browser,
    pytest.mark.slow,
    pytest.mark.django_db(transaction=True),
    pytest.mark.xdist_group("browser"),
]
PINS = {"admin": "2580", "dentist": "1379"}


@pytest.mark.parametrize("width", [1280, NARROW])
def test_people_change_at_the_chair_and_lose_nothing(enter, cast, width):
    chair = enter("admin", width=width)
    chair.page.clock.install()

    chair.go("/devices/")
    chair.type_all(
        {"Name of this computer": "Chair 2", "Your password, entered again": cast.password}
    )
    chair.press("Register")
    chair.reads("This computer is registered as Chair 2.")
    set_pin(chair, cast, "admin")

    press_at_head(chair, "Switch person")
    chair.reads("Locked: Adi Office")
    chair.press("Sign in with the password")
    sign_in(chair, cast, "dentist")
    set_pin(chair, cast, "dentist")

    chair.go("/patients/add/")
    chair.type("Name", "Quirina Testperson")
    chair.page.clock.fast_forward("04:10")
    chair.reads("Locks in 50 s")
    chair.page.clock.fast_forward("00:51")
    chair.reads("Locked: Nora Prescriber")
    assert "Quirina" not in chair.page.content()

    step_in(chair, "Adi Office", "2581")
    chair.reads("This is not the PIN. 4 tries are left.")
    step_in(chair, "Adi Office", PINS["admin"])
    chair.go("/patients/add/")
    assert "Quirina" not in chair.page.content()

    other_tab = chair.context.new_page()
    other_tab.goto("/profile/")
    press_at_head(chair, "Lock now")
    other_tab.wait_for_url("**/device/lock/")
    other_tab.close()
    step_in(chair, "Nora Prescriber", PINS["dentist"])
    chair.reads("This was typed before the screen locked")
    assert chair.field("Name").input_value() == "Quirina Testperson"
    chair.go("/profile/")
    chair.reads("Your particulars")
    assert Device.objects.get().locked_at is None


def press_at_head(chair, words):
    """A phone folds the head into its menu."""
    if chair.width == NARROW:
        chair.press("Menu")
    chair.press(words)


def set_pin(chair, cast, key):
    chair.go("/profile/pin/")
    pin = PINS[key]
    chair.type_all(
        {"PIN": pin, "PIN once more": pin, "Your password, entered again": cast.password}
    )
    chair.press("Save")
    chair.reads("Your PIN is set.")


def sign_in(chair, cast, key):
    person = cast.members[key].person
    chair.type_all({"E-mail": person.email, "Password": cast.password})
    chair.press("Sign in")


def step_in(chair, name, pin):
    chair.pick("Who are you?", name)
    chair.type("PIN", pin)
    chair.press("Step in")
