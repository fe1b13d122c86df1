"""Are parties chosen among partners?"""

from django.urls import reverse

from casework.cases.models import CaseParty
from tests.factories import make_party


def url(name, case, *more):
    return reverse(name, args=[case.code, *more])


def test_parties_are_chosen_among_partners(sign_in, dentist, practice, case):
    make_party("scan centre", name="Clean Scans", partner_of=practice)
    stranger = make_party("scan centre", name="Stranger")
    centre = practice.partnerships.get(partner__kind="scan centre").partner
    browser = sign_in(dentist)
    page = browser.get(url("case_party_choose", case)).text
    assert "Clean Scans" in page and "Stranger" not in page

    browser.post(url("case_party_choose", case), {"scan_centre": centre.pk})
    wrong = browser.post(url("case_party_choose", case), {"scan_centre": stranger.pk})

    assert wrong.status_code == 422
    assert CaseParty.objects.get(case=case, side="scan centre").party == centre
    assert "Clean Scans" in browser.get(url("case_parties", case)).text
