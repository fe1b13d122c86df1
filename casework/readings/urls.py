"""On which pages are readings, scan bodies and the bite recorded?"""

from django.urls import path

from casework.readings import views

_CASE = "cases/<str:code>"

urlpatterns = [
    path(f"{_CASE}/readings/", views.readings, name="case_readings"),
    path(f"{_CASE}/readings/add/", views.readings_add, name="case_readings_add"),
    path(f"{_CASE}/readings/<int:pk>/", views.reading, name="case_reading"),
    path(
        f"{_CASE}/readings/<int:pk>/remove/",
        views.reading_remove,
        name="case_reading_remove",
    ),
    path(f"{_CASE}/scan-bodies/", views.scan_bodies, name="case_scan_bodies"),
    path(f"{_CASE}/scan-bodies/add/", views.scan_body_add, name="case_scan_body_add"),
    path(f"{_CASE}/scan-bodies/<int:pk>/", views.scan_body, name="case_scan_body"),
    path(f"{_CASE}/scan-bodies/point/", views.scan_body_point, name="scan_body_point"),
    path(
        f"{_CASE}/scan-bodies/<int:pk>/remove/",
        views.scan_body_remove,
        name="case_scan_body_remove",
    ),
    path(f"{_CASE}/bite/", views.bite, name="case_bite"),
    path(f"{_CASE}/bite/edit/", views.bite_edit, name="case_bite_edit"),
]
