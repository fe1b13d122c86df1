"""What is typed in a prescription as a whole?"""

from django import forms
from django.utils.translation import gettext_lazy as _

from orders.catalogue.rules import FAMILY_LABELS
from orders.prescriptions import rules
from orders.prescriptions.row_forms import EverySiteForm, SiteForm, UnitRowForm, rows_of
from orders.prescriptions.strength import proposed_class
from orders.typing_fields import (
    CountField,
    DayField,
    NoteField,
    NumberField,
    RevisedForm,
    as_choices,
)

SPARE_ROWS = 2
ROWS_MOST = 12
_CHOOSE = _("choose")


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
        self.every_site = EverySiteForm(data, party=party)
        initial = {name: getattr(prescription, name) for name in _PLAIN}
        for name in self.proposed:
            initial[name] = initial.get(name) or self.proposed[name]
        initial["seen_revision"] = prescription.revision
        if initial["allergies"] == rules.NONE_KNOWN:
            initial |= {"allergies": "", "no_allergies": True}
        self.rest = PrescriptionForm(data, initial=initial, party=party, materials=materials)

    def _rows(self):
        initials = rows_of(self.prescription.units) or self.proposed.get("rows", [])
        count = min(len(initials) + SPARE_ROWS, ROWS_MOST)
        if self.data is not None:
            count = max(count, _count(self.data.get("row_count")))
        return [
            UnitRowForm(
                self.data,
                prefix=f"row{place}",
                row=_("Row %s") % (place + 1),
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
                row=site,
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
        parts = [*self.rows, *self.sites.values(), self.every_site, self.rest]
        return all([part.is_valid() for part in parts])

    def typed(self):
        """What was typed, as `save_draft` takes it."""
        told = dict(self.rest.cleaned_data)
        told.pop("seen_revision", None)
        told["units"] = [
            unit for place, row in enumerate(self.rows, 1) for unit in row.units(place)
        ]
        told["sites"] = self._typed_sites(told["units"])
        if told["material"] is None and told["strength_class"] is None:
            told["strength_class"] = proposed_class(told)
        return told

    def _typed_sites(self, ordered):
        chosen = {site: form.cleaned_data for site, form in self.sites.items()}
        chosen = dict(self.prescription.sites) | chosen
        filled = [told for told in chosen.values() if _is_filled(told)]
        if self.every_site.cleaned_data["same_everywhere"] and filled:
            needed = {unit["tooth"] for unit in ordered if unit["on"] == "implant"}
            for site in needed | set(chosen):
                if not _is_filled(chosen.get(site, {})):
                    chosen[site] = filled[0]
        return chosen

    @property
    def site_fields(self):
        """The head of the table of sites."""
        return next(iter(self.sites.values())).visible_fields()

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


def _is_filled(told):
    return any(value not in (None, "") for value in told.values())


def _count(text):
    return min(int(text), ROWS_MOST) if (text or "").isascii() and (text or "").isdigit() else 0
