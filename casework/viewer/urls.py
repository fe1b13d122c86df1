"""Which addresses show a case as surfaces and places?"""

from django.urls import path

from casework.viewer import views

_VERSION = "cases/<str:code>/designs/<int:number>/"

urlpatterns = [
    path("cases/<str:code>/look/", views.look, name="case_look"),
    path("cases/<str:code>/files/<int:number>/preview.glb", views.preview, name="case_preview"),
    path(f"{_VERSION}look/", views.look, name="design_look"),
    path(f"{_VERSION}fields/<int:file>/<str:name>/", views.lengths, name="design_field"),
    path(f"{_VERSION}pictures/<int:index>.png", views.picture, name="design_picture"),
]
