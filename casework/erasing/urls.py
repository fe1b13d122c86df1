"""On which pages is a patient erased?"""

from django.urls import path

from casework.erasing import views

urlpatterns = [
    path("patients/erase/", views.patients_to_erase, name="patients_to_erase"),
    path("patients/<str:code>/erase/", views.patient_erase, name="patient_erase"),
]
