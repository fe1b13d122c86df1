"""What is typed in a prescription: rows of units, choices per site, everything else?"""

from django import forms
from django.utils.translation import gettext_lazy as _

from orders.catalogue.rules import FAMILY_LABELS
from orders.prescriptions import rules, units
from orders.prescriptions.strength import proposed_class
from orders.typing_fields import (
    CountField,
    DayField,
    NoteField,
    NumberField,
    RevisedForm,
    TeethField,
    TypingForm,
    YesNoField,
    as_choices,
)

SPARE_ROWS = 2
ROWS_MOST = 12
_CHOOSE = _("choose")
ABUTMENT_MATERIALS = ("titanium", "zirconia", "titanium base with zirconia", "metal")
BASE_MATERIALS = ("titanium", "metal", "none")


class UnitRowForm(TypingForm):
    """One row of units, side by side or of one kind: "45-47", joined, pontic 46."""

    teeth = TeethField(label=_("Units"), required=False, help_text=_("for example 45-47;"))
    made_as = forms.ChoiceField(
        label=_("Made as"),
        required=False,
        choices=[("joined", _("joined units")), ("single", _("single crowns"))],
    )
    pontics = TeethField(label=_("Pontics among them"), required=False)
    on_teeth = TeethField(label=_("Standing on natural teeth"), required=False)
    ends_free = forms.BooleanField(label=_("Ends free on purpose (cantilever)"), required=False)

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


class SiteForm(TypingForm):
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


class PrescriptionForm(RevisedForm):
    """Everything but units and sites. A draft may leave any of it open."""

    material = forms.ModelChoiceField(
        label=_("Material of the catalogue"),
        queryset=None,
        required=False,
        empty_label=_("left to the laboratory within family and class"),
    )
    material_family = forms.ChoiceField(
        label=_("Material family"),
        required=False,
        choices=[("", _CHOOSE), *((str(key), text) for key, text in FAMILY_LABELS.items())],
    )
    strength_class = CountField(
        label=_("Strength class"),
        required=False,
        maximum=5,
        help_text=_("left empty, the least class that these units need is filled in"),
    )
    retention = forms.ChoiceField(
        label=_("Retention"),
        required=False,
        choices=as_choices(rules.RETENTIONS, blank=_CHOOSE),
    )
    margin_depth_mm = NumberField(
        label=_("Depth of the cement margin"),
        unit="mm",
        minimum=-5,
        maximum=9,
        required=False,
        help_text=_("in mm below the mucosa, where it is cemented"),
    )
    contacts = forms.ChoiceField(
        label=_("Contacts to the neighbours"),
        required=False,
        choices=as_choices(rules.CONTACTS, blank=_CHOOSE),
    )
    occlusal_scheme = forms.ChoiceField(
        label=_("Occlusal scheme"),
        required=False,
        choices=as_choices(rules.SCHEMES, blank=_CHOOSE),
    )
    grinding = forms.ChoiceField(
        label=_("Grinding habit"),
        required=False,
        choices=as_choices(rules.GRINDING, blank=_CHOOSE),
    )
    pontic_form = forms.ChoiceField(
        label=_("Form of the pontic"),
        required=False,
        choices=as_choices(rules.PONTIC_FORMS, blank=_("no pontic")),
    )
    emergence = forms.ChoiceField(
        label=_("Emergence"),
        required=False,
        choices=as_choices(rules.EMERGENCES, blank=_CHOOSE),
    )
    surface = forms.ChoiceField(
        label=_("Surface"),
        required=False,
        choices=as_choices(rules.SURFACES, blank=_CHOOSE),
    )
    gum_shade_wanted = forms.BooleanField(label=_("With gum-coloured material"), required=False)
    no_allergies = forms.BooleanField(
        label=_("The patient was asked: no allergy known"), required=False
    )
    allergies = NoteField(label=_("Allergies"), max_length=200, required=False)
    wanted_on = DayField(label=_("Wanted on"), required=False)
    is_rush = forms.BooleanField(label=_("Rush"), required=False)
    try_in_wanted = forms.BooleanField(label=_("Try-in wanted"), required=False, initial=True)
    look_waived = forms.BooleanField(
        label=_("No look at the design needed"),
        required=False,
        help_text=_("for single crowns only"),
    )
    fee = NoteField(
        label=_("Fee or estimate"), max_length=80, required=False, help_text=_("as agreed")
    )
    note = NoteField(label=_("Note to the laboratory"), lines=4, required=False)

    def __init__(self, *args, materials, **more):
        super().__init__(*args, **more)
        self.fields["material"].queryset = materials

    def clean(self):
        told = super().clean()
        if told.pop("no_allergies", False):
            if told.get("allergies"):
                self.add_error("allergies", _("Either no allergy is known, or name them."))
            told["allergies"] = rules.NONE_KNOWN
        return told


class PrescriptionForms:
    """The whole page: its rows of units, the choices per site, and the rest."""

    def __init__(self, prescription, *, data=None, party, sites, materials, proposed=None):
        self.prescription, self.party = prescription, party
        self.data, self.proposed = data, proposed or {}
        self.rows = self._rows()
        self.sites = self._sites(sites)
        initial = {name: getattr(prescription, name) for name in _PLAIN}
        for name in self.proposed:
            initial[name] = initial.get(name) or self.proposed[name]
        initial["seen_revision"] = prescription.revision
        if initial["allergies"] == rules.NONE_KNOWN:
            initial |= {"allergies": "", "no_allergies": True}
        self.rest = PrescriptionForm(data, initial=initial, party=party, materials=materials)

    def _rows(self):
        initials = rows_of(self.prescription.units)
        count = min(len(initials) + SPARE_ROWS, ROWS_MOST)
        if self.data is not None:
            count = max(count, _count(self.data.get("row_count")))
        return [
            UnitRowForm(
                self.data,
                prefix=f"row{place}",
                initial=initials[place] if place < len(initials) else {"made_as": "joined"},
                party=self.party,
            )
            for place in range(count)
        ]

    def _sites(self, sites):
        known = list(dict.fromkeys([*self.prescription.implant_sites, *sites]))
        if self.data is not None:
            known = [site for site in known if f"site{site}-level" in self.data]
        return {
            site: SiteForm(
                self.data,
                prefix=f"site{site}",
                initial=self.prescription.sites.get(site) or self.proposed.get("site"),
                party=self.party,
            )
            for site in known
        }

    def see(self, revision):
        """Take what was typed as typed in sight of that revision."""
        self.rest.data = self.rest.data.copy()
        self.rest.data["seen_revision"] = str(revision)

    @property
    def row_count(self):
        return len(self.rows)

    def is_valid(self):
        parts = [*self.rows, *self.sites.values(), self.rest]
        return all([part.is_valid() for part in parts])

    def typed(self):
        """What was typed, as `save_draft` takes it."""
        told = dict(self.rest.cleaned_data)
        told.pop("seen_revision", None)
        told["units"] = [
            unit for place, row in enumerate(self.rows, 1) for unit in row.units(place)
        ]
        kept = dict(self.prescription.sites)
        told["sites"] = kept | {site: form.cleaned_data for site, form in self.sites.items()}
        if told["material"] is None and told["strength_class"] is None:
            told["strength_class"] = proposed_class(told)
        return told

    @property
    def seen_revision(self):
        return self.rest.cleaned_data.get("seen_revision")


_PLAIN = (
    "material",
    "material_family",
    "strength_class",
    "retention",
    "margin_depth_mm",
    "contacts",
    "occlusal_scheme",
    "grinding",
    "pontic_form",
    "emergence",
    "surface",
    "gum_shade_wanted",
    "allergies",
    "wanted_on",
    "is_rush",
    "try_in_wanted",
    "look_waived",
    "fee",
    "note",
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


def _count(text):
    return min(int(text), ROWS_MOST) if (text or "").isascii() and (text or "").isdigit() else 0
