"""What makes a PIN too easy, when is a device locked, and what of a form is kept?

The length, the easy numbers and five tries are common practice, no source. That such a number
counts only together with a registered device, and that tries are counted and ended, is the
thought of NIST SP 800-63B, 5.1.1 and 5.2.2 (from memory).
"""

from collections.abc import Iterable
from datetime import datetime, timedelta

PIN_SHORTEST, PIN_LONGEST = 4, 8
WRONG_PINS_MAX = 5
LOCK_AFTER_MINUTES_MOST = 60
# A device that is in use is written down this many times within the time to the lock.
NOTED_PER_IDLE_TIME = 20
# How long what was typed before a lock is kept.
KEPT_FOR = timedelta(hours=12)
KEPT_CHARACTERS_MOST = 100_000

# Fields that only their owner may know, and fields that nobody types.
SECRET_FIELDS = frozenset(
    "password old new again new_password1 new_password2 pin pin_again".split()
)
UNTYPED_FIELDS = frozenset(
    "csrfmiddlewaretoken do next row_count seen seen_revision source token".split()
)


def objections_to_pin(pin: str) -> tuple[str, ...]:
    """Why this text cannot be a PIN; empty when it can."""
    if not (pin.isascii() and pin.isdigit() and PIN_SHORTEST <= len(pin) <= PIN_LONGEST):
        return (f"A PIN is {PIN_SHORTEST} to {PIN_LONGEST} digits.",)
    if _is_running(pin):
        return ("Digits that run up or down are tried first. Choose another PIN.",)
    if _is_repeated(pin):
        return ("Digits that repeat are tried first. Choose another PIN.",)
    return ()


def _is_running(pin):
    """1234, 8901, 4321: each digit is one more, or one less, than the one before."""
    steps = {(int(b) - int(a)) % 10 for a, b in zip(pin, pin[1:], strict=False)}
    return steps in ({1}, {9})


def _is_repeated(pin):
    """0000, 1212, 123123: the same beginning over and over."""
    return any(
        len(pin) % length == 0 and pin == pin[:length] * (len(pin) // length)
        for length in range(1, len(pin) // 2 + 1)
    )


def is_locked(
    locked_at: datetime | None, seen_at: datetime, lock_after_minutes: int, at: datetime
) -> bool:
    """Whether a device is locked at a moment: by hand, or because nobody was at it."""
    return locked_at is not None or at - seen_at >= timedelta(minutes=lock_after_minutes)


def is_worth_noting(seen_at: datetime, lock_after_minutes: int, at: datetime) -> bool:
    """Whether enough time has passed to write down again that somebody is at the device."""
    return at - seen_at >= timedelta(minutes=lock_after_minutes) / NOTED_PER_IDLE_TIME


def typed_only(pairs: Iterable[tuple[str, str]]) -> list[list[str]]:
    """Of the fields that were sent, those a person typed or chose, without secrets.

    Empty when nothing was typed, or more than is kept.
    """
    kept = [
        [name, text.replace("\0", "")]
        for name, text in pairs
        if name.rpartition("-")[2] not in SECRET_FIELDS | UNTYPED_FIELDS
    ]
    size = sum(len(name) + len(text) for name, text in kept)
    is_something = any(text.strip() for _name, text in kept)
    return kept if is_something and size <= KEPT_CHARACTERS_MOST else []
