"""Which pages record what was found and done at a visit?"""

from django.urls import path

from casework.visits import views

_CASE = "cases/<str:code>/"

urlpatterns = [
    path(f"{_CASE}try-ins/<int:number>/", views.try_in, name="try_in_record"),
    path(f"{_CASE}screws/<str:site>/", views.screw, name="screw_record"),
    path(f"{_CASE}delivery/", views.delivery, name="delivery_record"),
    path(f"{_CASE}follow-ups/<int:pk>/", views.follow_up, name="follow_up_record"),
    path(f"{_CASE}linked/", views.linked, name="case_linked"),
    path("follow-up-visits/", views.template, name="follow_up_template"),
]
