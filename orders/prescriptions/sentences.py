"""How is it said what a prescription lacks, and what in it does not go together?"""

# Code to what is wrong and what to do. {subject} is a tooth, a site or a span.
MISSING = {
    "no_prescription": (
        "There is no prescription.",
        "Write one.",
    ),
    "units_missing": (
        "The prescription orders no units.",
        "Name the teeth to be made, for example 45-47.",
    ),
    "site_field_missing": (
        "{name} is not decided for the implant at the {where}.",
        "Decide it in the prescription.",
    ),
    "field_missing": (
        "{name} is not decided.",
        "Decide it in the prescription.",
    ),
    "class_missing": (
        "No strength class is named; these units need {needed}.",
        "Name the class, or choose a material of the catalogue.",
    ),
    "margin_depth_missing": (
        "The restoration is to be cemented, but the depth of its margin is not given.",
        "Give the depth of the cement margin below the mucosa in millimetres.",
    ),
    "pontic_form_missing": (
        "A pontic is ordered, but not its form.",
        "Choose the form of the pontic.",
    ),
    "allergies_unanswered": (
        "The question about allergies is not answered.",
        "Ask the patient. 'None known' is an answer.",
    ),
    "fee_missing": (
        "Neither a fee nor an estimate is agreed.",
        "Write down what was agreed, or say why nothing was.",
    ),
}

# Field to how it is named; all of them must be decided before the order is sent.
REQUIRED = {
    "material_family": "The material family",
    "retention": "The retention (screw or cement)",
    "contacts": "How firm the contacts to the neighbours shall be",
    "occlusal_scheme": "The occlusal scheme",
    "grinding": "Whether the patient grinds",
    "emergence": "The emergence profile",
    "surface": "The surface",
    "wanted_on": "The day the work is wanted",
}
SITE_REQUIRED = {
    "level": "The level (implant or intermediate abutment)",
    "engaging": "Whether the part engages the connection",
    "build": "The build (one piece, or abutment and restoration)",
    "abutment_material": "The abutment's material",
}

INCOHERENT = {
    "unknown_tooth": ("{subject} is no tooth in ISO 3950.", "Correct the units."),
    "unknown_kind": (
        "The unit at the {where} is '{kind}', which is no kind of unit.",
        "Order a retainer, a pontic or a crown.",
    ),
    "tooth_twice": (
        "The {where} is ordered twice.",
        "Order each tooth once.",
    ),
    "two_jaws": (
        "Units of both jaws stand in one prescription.",
        "Open a case of its own for the other jaw: each has its own scans and bite.",
    ),
    "bridge_with_gap": (
        "The joined units {subject} do not stand side by side: {gap} is left out.",
        "Add what is left out as a pontic or retainer, or order two pieces.",
    ),
    "bridge_without_retainer": (
        "The joined units {subject} have no retainer.",
        "Say which of them stand on an implant or a tooth.",
    ),
    "lone_retainer": (
        "The {where} is ordered as a retainer, but nothing is joined to it.",
        "Order it as a single crown, or add the units it carries.",
    ),
    "pontic_free": (
        "The pontic at the {where} has a retainer on one side only.",
        "Add a retainer, or state that it is meant to end free.",
    ),
    "cantilever_stated": (
        "The pontic at the {where} ends free, as stated.",
        "Free ends load the retainers and connectors more.",
    ),
    "cantilever_long": (
        "{count} pontics in a row end free at the {where}.",
        "Say why more than one free unit is right here.",
    ),
    "no_implant": (
        "The unit at the {where} stands on an implant, but no implant is recorded there.",
        "Record the implant, or correct the unit.",
    ),
    "no_tooth": (
        "The unit at the {where} stands on a tooth, but no tooth is recorded there.",
        "Correct the teeth that exist, or the unit.",
    ),
    "tooth_unprepared": (
        "The unit at the {where} stands on a tooth that is not recorded as prepared.",
        "Record the preparation, or say why there is none.",
    ),
    "tooth_in_the_way": (
        "A standing tooth is recorded at the {where}, where a {kind} is ordered.",
        "Correct the teeth that exist, or the units.",
    ),
    "teeth_unknown": (
        "Which teeth exist is not recorded, so the units could not be compared with them.",
        "Record the teeth, or say how they were compared.",
    ),
    "pontic_over_implant": (
        "An implant is recorded at the {where}, where a pontic is ordered.",
        "Say why the implant carries nothing, or order a retainer.",
    ),
    "tooth_and_implant_joined": (
        "The joined units {subject} stand on teeth and on implants.",
        "A tooth moves under load and an implant hardly does: say why they are joined.",
    ),
    "site_without_unit": (
        "Choices are recorded for an implant at the {where}, which carries no unit.",
        "Correct the units or remove the choices.",
    ),
    "class_too_low": (
        "Class {measured} is prescribed; {subject} needs {limit}.",
        "Prescribe a higher class, or fewer units in one piece.",
    ),
    "class_impossible": (
        "There is no class {measured} of {family}.",
        "Choose a class of {limit}.",
    ),
    "material_limit_unknown": (
        "For {family} no limit of span is known here, so {subject} could not be judged.",
        "Name the material's instructions that allow it.",
    ),
    "margin_deep": (
        "The cement margin lies {measured} below the mucosa; {limit} is recommended.",
        "Cement left behind is found less the deeper the margin lies.",
    ),
    "margin_too_deep": (
        "The cement margin lies {measured} below the mucosa, deeper than {limit}.",
        "Consider screw retention, or say why cement is right here.",
    ),
    "margin_negative": (
        "The depth of the cement margin is negative.",
        "Type how far it lies below the mucosa, 0 where it lies level or above.",
    ),
    "margin_not_needed": (
        "A depth of a cement margin is given, but the work is retained by screw.",
        "Remove it, or correct the retention.",
    ),
    "one_piece_cemented": (
        "The implant at the {where} is to get one piece, yet it is to be cemented.",
        "Choose abutment and restoration, or retention by screw.",
    ),
    "intermediate_cemented": (
        "On the intermediate abutment at the {where} the work is to be cemented.",
        "Intermediate abutments are meant for screws: say why cement is right here.",
    ),
    "engaging_when_joined": (
        "{subject} joins implants with more than one engaging part.",
        "Engaging parts share a path of insertion only where the implants are near parallel:"
        " say how that is known, or choose non-engaging parts.",
    ),
    "ceramic_without_base": (
        "At the {where} ceramic is to sit in the implant in one piece without a base.",
        "Name the base's material, or say why there is none.",
    ),
    "look_waived": (
        "The look at the design is waived, but more than single crowns is ordered.",
        "A look may be waived for single crowns only.",
    ),
    "wanted_in_past": (
        "The work is wanted on {measured}, which is past.",
        "Choose a day still to come.",
    ),
    "allergy_meets_material": (
        "The allergies name '{word}', which is also prescribed.",
        "Choose another material, or say why it is safe for this patient.",
    ),
    "pontic_form_without_pontic": (
        "A pontic's form is chosen, but no pontic is ordered.",
        "Remove it, or correct the units.",
    ),
    "gum_shade_missing": (
        "Gum-coloured material is wanted, but the shade note has no gum shade.",
        "Add the gum shade to the shade note.",
    ),
}
