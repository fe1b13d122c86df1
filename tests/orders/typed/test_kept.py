"""What may a text hold that is kept: a person's words, names of others, codes on labels?"""

import pytest

from orders.typed import Code, Name, Text

PATIENT = "Anna-May Müller"


@pytest.mark.parametrize(
    "text", ["ask Mr Müller", "MUELLER", "for Anna's bite", "Anna-May", "müller, anna"]
)
def test_words_name_the_patient(text):
    assert Text("Note").is_about(text, PATIENT)


@pytest.mark.parametrize("text", ["ask the patient", "annals", "M. A.", ""])
def test_words_that_name_nobody(text):
    assert not Text("Note").is_about(text, PATIENT)


def test_a_word_that_is_offered_says_nothing_of_the_patient():
    """A patient may be called Light, and contacts may still be ordered light."""
    field = Text("Contacts", ("light", "firm"))

    assert not field.is_about("light", "Lotte Light")
    assert field.is_about("as for Light", "Lotte Light")


@pytest.mark.parametrize("text", ["Dr. Müller", "Peter Müller", "P. Mueller,", "Müller"])
def test_a_name_that_somebody_else_bears_is_let_through(text):
    assert Name("Placed by").is_about(text, PATIENT)
    assert not Name("Placed by").is_about(text, PATIENT, ["Peter Müller", "Eve Other"])


@pytest.mark.parametrize("text", ["Anna Müller", "Müller for Anna", "May"])
def test_what_nobody_else_is_called_names_the_patient(text):
    assert Name("Placed by").is_about(text, PATIENT, ["Peter Müller"])


@pytest.mark.parametrize("code", ["MAY-2026", "MUELLER7", "L-0417", "ANNALS"])
def test_a_code_may_hold_what_looks_like_a_name(code):
    """Months and makers stand on labels, and what is printed is kept to the letter."""
    assert not Code("Lot").is_about(code, PATIENT)


@pytest.mark.parametrize("code", ["MUELLER", "ANNA", "ANNA-MAY-MÜLLER-1", "Müller_Anna_45"])
def test_a_code_that_is_the_name_is_no_code(code):
    assert Code("Lot").is_about(code, PATIENT)


def test_short_names_do_not_hide_a_code_in_every_name():
    assert Code("Lot").is_about("LI-WEBER-4", "Li Weber")
    assert not Code("Lot").is_about("L-4", "Li Wu")
