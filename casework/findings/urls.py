"""Which address tells whether a gate has been checked?"""

from django.urls import path

from casework.findings import views

urlpatterns = [
    path("cases/<str:code>/gates/<int:pk>/", views.gate, name="case_gate"),
]
