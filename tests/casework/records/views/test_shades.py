"""Is the shade noted with a tab of the guide?"""

from django.urls import reverse

from orders.shades.models import ShadeGuide, ShadeNote


def url(name, case, *more):
    return reverse(name, args=[case.code, *more])


def test_shade_is_noted_with_a_tab_of_the_guide(sign_in, assistant, practice, case):
    guide = ShadeGuide.objects.create(owner=practice, name="Guide", tabs=["L1", "L2"])
    told = {"guide": guide.pk, "body": "L9", "light": "daylight", "taken_on": "2026-01-12"}
    browser = sign_in(assistant)

    wrong = browser.post(url("case_shade_edit", case), told)
    assert wrong.status_code == 422
    assert "L1, L2" in wrong.text

    browser.post(url("case_shade_edit", case), told | {"body": "L2"})
    assert ShadeNote.objects.get().body == "L2"
    assert "L2" in browser.get(url("case_shade", case)).text
