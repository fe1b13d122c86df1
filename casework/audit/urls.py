"""Which page shows the trail?"""

from django.urls import path

from casework.audit import views

urlpatterns = [path("cases/<str:code>/trail/", views.trail, name="case_trail")]
