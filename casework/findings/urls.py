"""Which addresses tell whether a gate has been checked, and by which limits?"""

from django.urls import path

from casework.findings import views

urlpatterns = [
    path("cases/<str:code>/gates/<int:pk>/", views.gate, name="case_gate"),
    path("cases/<str:code>/measures/", views.measures, name="case_measures"),
    path("party/limits/", views.party_limits, name="party_limits"),
]
