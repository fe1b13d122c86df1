"""Does one reason answer several alike asks, each on its own, and does its own go before it?"""

from django.http import QueryDict

from casework.findings.forms import typed_reasons


def test_reason_for_all_is_given_to_each_that_was_shown_with_it():
    sent = QueryDict("answer-walls.thin=Seen.&asked-walls.thin=a&asked-walls.thin=b")

    assert typed_reasons(sent) == {"a": "Seen.", "b": "Seen."}


def test_own_reason_goes_before_that_for_all():
    sent = QueryDict(
        "answer-walls.thin=Seen.&asked-walls.thin=a&asked-walls.thin=b"
        "&answer-a=&answer-b=Another.&answer-c=Alone."
    )

    assert typed_reasons(sent) == {"a": "Seen.", "b": "Another.", "c": "Alone."}


def test_blank_reason_is_none():
    sent = QueryDict("answer-walls.thin=%20&asked-walls.thin=a&answer-a=%20&answer-c=")

    assert typed_reasons(sent) == {}
