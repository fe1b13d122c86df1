"""How does an order say that something happened without knowing who listens?"""

from django.dispatch import Signal

# Arguments: kind, subject, by (a membership or None), case (a case code), facts (a dict).
happened = Signal()


def announce(kind, *, subject, by, case="", facts=None):
    """Tell every listener, inside the transaction; a listener that raises undoes it."""
    happened.send(sender=None, kind=kind, subject=subject, by=by, case=case, facts=facts or {})
