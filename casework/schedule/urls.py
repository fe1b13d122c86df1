"""Which pages book visits, move arrivals and close a house?"""

from django.urls import path

from casework.schedule import views

_VISITS = "cases/<str:code>/visits/"

urlpatterns = [
    path(_VISITS, views.visits_page, name="case_visits"),
    path(f"{_VISITS}book/", views.book, name="visit_book"),
    path(f"{_VISITS}<int:pk>/move/", views.move, name="visit_move"),
    path(f"{_VISITS}<int:pk>/end/", views.end, name="visit_end"),
    path(f"{_VISITS}<int:pk>/tools/", views.tools, name="visit_tools"),
    path("cases/<str:code>/parcels/<int:pk>/expected/", views.expect, name="parcel_expect"),
    path("closing-days/", views.closing_days, name="closing_days"),
    path("closing-days/open/", views.open_again, name="closing_day_open"),
]
