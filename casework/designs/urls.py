"""Which pages show and change design versions?"""

from django.urls import path

from casework.designs import views

_VERSION = "cases/<str:code>/designs/<int:number>/"

urlpatterns = [
    path("cases/<str:code>/designs/", views.version_list, name="case_designs"),
    path("cases/<str:code>/designs/start/", views.start, name="design_start"),
    path(_VERSION, views.version_page, name="case_design"),
    path(f"{_VERSION}made/", views.add_made, name="design_add_made"),
    path(f"{_VERSION}stock/", views.add_stock, name="design_add_stock"),
    path(f"{_VERSION}notes/", views.notes, name="design_notes"),
    path(f"{_VERSION}discard/", views.discard, name="design_discard"),
    path(f"{_VERSION}mark/", views.mark, name="design_mark"),
    path(f"{_VERSION}parts/<int:pk>/remove/", views.remove_part, name="design_remove_part"),
]
