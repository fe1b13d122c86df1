"""On which pages are an order's records written, patients entered, the catalogue kept?"""

from django.urls import path

from casework.records.views import (
    catalogue,
    implants,
    parties,
    patients,
    prescriptions,
    shades,
)

_CASE = "cases/<str:code>"

urlpatterns = [
    path(f"{_CASE}/implants/", implants.implants, name="case_implants"),
    path(f"{_CASE}/implants/add/", implants.implant_add, name="case_implant_add"),
    path(f"{_CASE}/implants/<int:pk>/", implants.implant, name="case_implant"),
    path(
        f"{_CASE}/implants/<int:pk>/remove/",
        implants.implant_remove,
        name="case_implant_remove",
    ),
    path(f"{_CASE}/teeth/", implants.teeth, name="case_teeth"),
    path(f"{_CASE}/teeth/edit/", implants.teeth_edit, name="case_teeth_edit"),
    path(f"{_CASE}/shade/", shades.shade, name="case_shade"),
    path(f"{_CASE}/shade/edit/", shades.shade_edit, name="case_shade_edit"),
    path(f"{_CASE}/prescription/", prescriptions.prescription, name="case_prescription"),
    path(
        f"{_CASE}/prescription/edit/",
        prescriptions.prescription_edit,
        name="case_prescription_edit",
    ),
    path(
        f"{_CASE}/prescription/look/",
        prescriptions.prescription_look,
        name="case_prescription_look",
    ),
    path(
        f"{_CASE}/prescription/amend/",
        prescriptions.prescription_amend,
        name="case_prescription_amend",
    ),
    path(
        f"{_CASE}/prescription/withdraw/",
        prescriptions.prescription_withdraw,
        name="case_prescription_withdraw",
    ),
    path(f"{_CASE}/parties/", parties.parties, name="case_parties"),
    path(f"{_CASE}/parties/choose/", parties.party_choose, name="case_party_choose"),
    path("patients/", patients.patients, name="patients"),
    path("patients/add/", patients.patient_add, name="patient_add"),
    path("patients/<str:code>/", patients.patient, name="patient"),
    path("patients/<str:code>/edit/", patients.patient_edit, name="patient_edit"),
    path(
        "patients/<str:code>/open-case/",
        patients.patient_open_case,
        name="patient_open_case",
    ),
    path("catalogue/", catalogue.catalogue, name="catalogue"),
    path("catalogue/components/add/", catalogue.component_add, name="component_add"),
    path("catalogue/components/<int:pk>/", catalogue.component, name="component"),
    path("catalogue/materials/add/", catalogue.material_add, name="material_add"),
    path("catalogue/materials/<int:pk>/", catalogue.material, name="material"),
    path("catalogue/systems/add/", catalogue.system_add, name="system_add"),
    path("catalogue/guides/add/", catalogue.guide_add, name="guide_add"),
    path("catalogue/guides/<int:pk>/", catalogue.guide, name="guide"),
]
