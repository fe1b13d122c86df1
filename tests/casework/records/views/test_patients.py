"""Are patients entered, found and kept to their practice?"""

from django.urls import reverse

from orders.parties.models import Partnership
from orders.patients.models import Patient
from tests.factories import make_case, make_party, make_patient


def test_front_desk_enters_a_patient_and_the_dentist_opens_a_case(
    sign_in, front_desk, dentist, laboratory
):
    browser = sign_in(front_desk)
    browser.post(reverse("patient_add"), {"name": "Nora O'Brien", "birth_date": "1968-04-02"})
    patient = Patient.objects.get()
    address = reverse("patient_open_case", args=[patient.code])
    assert browser.post(address, {}).status_code == 403

    browser = sign_in(dentist)
    assert "Nora O&#x27;Brien" in browser.get(reverse("patients"), {"q": "o\u2019brien"}).text
    answer = browser.post(address, {"laboratory": laboratory.pk})

    case = patient.orders.get().case
    assert answer["Location"] == reverse("case", args=[case.code])


def test_e10_birth_date_in_the_future_is_refused_on_the_page(sign_in, front_desk):
    answer = sign_in(front_desk).post(
        reverse("patient_add"), {"name": "A", "birth_date": "2999-01-01"}
    )

    assert answer.status_code == 422
    assert "future" in answer.text
    assert not Patient.objects.exists()


def test_patients_of_another_practice_do_not_exist(sign_in, dentist, other_practice):
    other = make_patient(other_practice, name="Hidden Person")
    browser = sign_in(dentist)

    assert "Hidden" not in browser.get(reverse("patients"), {"q": "hidden"}).text
    assert browser.get(reverse("patient", args=[other.code])).status_code == 404


def test_technician_has_no_patients(sign_in, technician):
    assert sign_in(technician).get(reverse("patients")).status_code == 403


def test_laboratory_chosen_last_is_proposed_while_it_is_a_partner(
    sign_in, dentist, practice, laboratory
):
    second = make_party("laboratory", name="Another Bench", partner_of=practice)
    address = reverse("patient_open_case", args=[make_patient(practice).code])
    browser = sign_in(dentist)

    first = browser.get(address).text
    make_case(dentist, laboratory=second)
    after = browser.get(address).text
    Partnership.objects.filter(partner=second).delete()
    left = browser.get(address).text

    assert "selected" not in first.split("<main")[1].replace('value="" selected', "")
    assert f'value="{second.pk}" selected' in after
    assert f'value="{laboratory.pk}" selected' in left
