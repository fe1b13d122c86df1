"""What may be said of a patient outside the practice, and until when must records be kept?"""

import unicodedata
from dataclasses import dataclass
from datetime import date

MAJORITY_YEARS = 18
# Sexes as forms offer them; a case needs no more.
SEXES = ("female", "male", "other", "not stated")
_APOSTROPHES = str.maketrans({mark: "'" for mark in "\u2018\u2019\u02bc\u00b4`\uff07"})


def age_band(birth_date: date | None, on: date) -> str:
    """The ten years an age lies in ("50-59", "90+"), or "" where the birth date is unknown."""
    if birth_date is None:
        return ""
    age = on.year - birth_date.year - ((on.month, on.day) < (birth_date.month, birth_date.day))
    if age >= 90:
        return "90+"
    return f"{age // 10 * 10}-{age // 10 * 10 + 9}"


def objections_to_birth_date(birth_date: date | None, today: date) -> tuple[str, ...]:
    """Why it cannot be a living person's birth date; empty when it can."""
    if birth_date is None:
        return ()
    if birth_date > today:
        return (f"The birth date {birth_date.isoformat()} lies in the future. Check the year.",)
    if today.year - birth_date.year > 125:
        return (f"The birth date {birth_date.isoformat()} is too long ago. Check the year.",)
    return ()


def searchable(text: str) -> str:
    """Text as it is compared: no accents, one kind of apostrophe, no case."""
    plain = unicodedata.normalize("NFKD", (text or "").translate(_APOSTROPHES))
    plain = "".join(letter for letter in plain if not unicodedata.combining(letter))
    return " ".join(plain.casefold().split())


@dataclass(frozen=True, slots=True)
class ErasureDay:
    """The first day on which what is personal may be erased, and why not before."""

    day: date
    reason: str


def may_erase_from(
    last_entry_on: date, birth_date: date | None, retention_years: int
) -> ErasureDay:
    """When the records of a patient may be erased.

    Records are kept for `retention_years` after the last entry; those of a minor that long
    after majority. Common practice (adults 7-10 years, minors until some years after majority,
    statements on custom-made devices 10-15 years); local law decides the practice's setting.
    """
    day = later(last_entry_on, retention_years)
    reason = (
        f"Records are kept for {retention_years} years after the last entry on "
        f"{last_entry_on.isoformat()}, that is until {day.isoformat()}."
    )
    if birth_date is None:
        return ErasureDay(day, reason)
    of_age = later(birth_date, MAJORITY_YEARS)
    if last_entry_on < of_age:
        day = later(of_age, retention_years)
        reason = (
            f"The patient was a minor at the last entry on {last_entry_on.isoformat()}: "
            f"records are kept for {retention_years} years after majority on "
            f"{of_age.isoformat()}, that is until {day.isoformat()}."
        )
    return ErasureDay(day, reason)


def later(day: date, years: int) -> date:
    """The same day so many years later; 28 February where there is no 29th."""
    try:
        return day.replace(year=day.year + years)
    except ValueError:
        return day.replace(year=day.year + years, day=28)
