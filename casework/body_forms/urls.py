"""Where is the mesh of a scan body's form put, read and removed?"""

from django.urls import path

from casework.body_forms import views

_FORM = "catalogue/components/<int:pk>/form"

urlpatterns = [
    path(f"{_FORM}/", views.body_form, name="body_form"),
    path(f"{_FORM}/remove/", views.body_form_remove, name="body_form_remove"),
    path(f"{_FORM}/<int:form>/", views.body_form_file, name="body_form_file"),
]
