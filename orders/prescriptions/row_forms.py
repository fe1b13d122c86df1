"""What is typed in the rows of a prescription: units of a piece, choices at an implant?"""

from django import forms
from django.utils.translation import gettext_lazy as _

from orders.prescriptions import rules, units
from orders.typing_fields import RowForm, TeethField, TypingForm, YesNoField, as_choices

_CHOOSE = _("choose")
ABUTMENT_MATERIALS = ("titanium", "zirconia", "titanium base with zirconia", "metal")
BASE_MATERIALS = ("titanium", "metal", "none")


class UnitRowForm(RowForm):
    """One row of units, side by side or of one kind: "45-47", joined, pontic 46."""

    teeth = TeethField(label=_("Units"), required=False)
    made_as = forms.ChoiceField(
        label=_("Made as"),
        required=False,
        choices=[("joined", _("joined units")), ("single", _("single crowns"))],
    )
    pontics = TeethField(label=_("Pontics among them"), required=False)
    on_teeth = TeethField(label=_("Standing on natural teeth"), required=False)
    ends_free = forms.BooleanField(label=_("Ends free on purpose"), required=False)

    def clean_made_as(self):
        return self.cleaned_data["made_as"] or "joined"

    def clean(self):
        told = super().clean()
        if self.errors or not told.get("teeth"):
            for name in ("pontics", "on_teeth"):
                if told.get(name) and not self.errors:
                    self.add_error("teeth", _("Name the units of this row."))
            return told
        for field, sentence in units.objections_to_row(
            told["teeth"],
            joined=told["made_as"] == "joined",
            pontics=told["pontics"],
            on_teeth=told["on_teeth"],
        ):
            self.add_error("made_as" if field == "joined" else field, sentence)
        return told

    def units(self, piece):
        told = self.cleaned_data
        return units.units_of_row(
            told.get("teeth") or (),
            joined=told["made_as"] == "joined",
            pontics=told["pontics"],
            on_teeth=told["on_teeth"],
            ends_free=told["ends_free"],
            piece=piece,
        )


class SiteForm(RowForm):
    level = forms.ChoiceField(
        label=_("Level"), required=False, choices=as_choices(rules.LEVELS, blank=_CHOOSE)
    )
    engaging = YesNoField(label=_("Engages"), yes=_("engaging"), no=_("not engaging"))
    build = forms.ChoiceField(
        label=_("Build"), required=False, choices=as_choices(rules.BUILDS, blank=_CHOOSE)
    )
    abutment_material = forms.ChoiceField(
        label=_("Abutment"),
        required=False,
        choices=as_choices(ABUTMENT_MATERIALS, blank=_CHOOSE),
    )
    base_material = forms.ChoiceField(
        label=_("Base"), required=False, choices=as_choices(BASE_MATERIALS, blank=_CHOOSE)
    )


class EverySiteForm(TypingForm):
    same_everywhere = forms.BooleanField(
        label=_("The same choices at every implant for which none are made"), required=False
    )


def rows_of(ordered):
    """Stored units as rows of the form: one per joined piece, one for single crowns."""
    rows = []
    for piece in units.pieces_of(ordered) if ordered else ():
        joined = piece.units[0]["kind"] != "crown"
        row = {
            "teeth": piece.teeth,
            "made_as": "joined" if joined else "single",
            "pontics": tuple(unit["tooth"] for unit in piece.of_kind("pontic")),
            "on_teeth": piece.standing_on("tooth"),
            "ends_free": any(unit.get("free") for unit in piece.units),
        }
        if not joined and rows and rows[-1]["made_as"] == "single":
            rows[-1]["teeth"] += row["teeth"]
            rows[-1]["on_teeth"] += row["on_teeth"]
        else:
            rows.append(row)
    return rows
