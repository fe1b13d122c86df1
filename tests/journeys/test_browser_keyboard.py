"""Can a case be opened and its sending reached with the keyboard alone?"""

import pytest

pytestmark = [
    pytest.mark.browser,
    pytest.mark.slow,
    pytest.mark.django_db(transaction=True),
    pytest.mark.xdist_group("browser"),
]
# More tabs than any page of the journey has stops.
TABS_MOST = 80
FOCUSED = """() => {
  const one = document.activeElement;
  const named = one.labels && one.labels.length ? one.labels[0].innerText : one.innerText;
  return (one.getAttribute("aria-label") || named || "").trim();
}"""
RING = """() => {
  const style = getComputedStyle(document.activeElement);
  return style.outlineStyle !== "none" && parseFloat(style.outlineWidth) >= 2;
}"""


def tab_to(person, words):
    """Press Tab until what is called so has the focus, which must be seen."""
    met = []
    for _stop in range(TABS_MOST):
        person.page.keyboard.press("Tab")
        met.append(person.page.evaluate(FOCUSED))
        if met[-1] == words:
            assert person.page.evaluate(RING), f"the focus on {words!r} is not seen"
            return
    raise AssertionError(f"{words!r} is not reached: {met}")


def press_enter(person):
    with person.page.expect_navigation():
        person.page.keyboard.press("Enter")
    person.look()


def test_sign_in_open_a_case_and_reach_its_sending_by_keyboard(tell, enter, cast, live_server):
    case = tell("crown", "prescribe", patient="one").case
    dentist = enter("dentist")
    dentist.press("Sign out")
    keys = dentist.page.keyboard

    dentist.go("/")
    assert dentist.page.evaluate(FOCUSED) == "E-mail"
    keys.type(cast.members["dentist"].person.email)
    tab_to(dentist, "Password")
    keys.type(cast.password)
    press_enter(dentist)
    tab_to(dentist, case.code)
    press_enter(dentist)
    tab_to(dentist, "Send the order to the laboratory")
    press_enter(dentist)

    dentist.reads("What it needs", "Your password, entered again")
    tab_to(dentist, "Check")
    press_enter(dentist)
    tab_to(dentist, "Skip to the content")
