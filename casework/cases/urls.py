"""Which pages show a case as a whole?"""

from django.urls import path

from casework.cases import views

urlpatterns = [
    path("cases/<str:code>/", views.case_page, name="case"),
    path("cases/<str:code>/hold/", views.hold, name="case_hold"),
    path("cases/<str:code>/release/", views.release, name="case_release"),
    path("cases/<str:code>/assign/", views.assign, name="case_assign"),
    path("cases/<str:code>/prescriber/", views.prescriber, name="case_prescriber"),
    path("cases/<str:code>/trail/", views.trail, name="case_trail"),
]
