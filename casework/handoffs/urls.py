"""Which pages move a case, and show what was handed over?"""

from django.urls import path

from casework.handoffs import api, views

urlpatterns = [
    path("cases/<str:code>/moves/<str:name>/", views.move_page, name="case_move"),
    path("cases/<str:code>/handoffs/", views.handoff_list, name="case_handoffs"),
    path("cases/<str:code>/handoffs/<int:number>/", views.handoff_page, name="case_handoff"),
    path(
        "cases/<str:code>/handoffs/<int:number>/check/", views.check_offer, name="offer_check"
    ),
    path("cases/<str:code>/handoffs/<int:number>/accept/", views.accept, name="offer_accept"),
    path(
        "cases/<str:code>/handoffs/<int:number>/return/", views.give_back, name="offer_return"
    ),
    path(
        "cases/<str:code>/handoffs/<int:number>/withdraw/",
        views.withdraw,
        name="offer_withdraw",
    ),
    path("cases/<str:code>/handoffs/<int:number>/amend/", views.amend, name="offer_amend"),
    path(
        "cases/<str:code>/handoffs/<int:number>/take-up/", views.take_up, name="handoff_take_up"
    ),
    path("cases/<str:code>/conditions/<int:pk>/", views.condition, name="case_condition"),
    path("cases/<str:code>/wrong-patient/", views.wrong_patient, name="case_wrong_patient"),
    path("cases/<str:code>/cancellation/", views.cancellation, name="case_cancellation"),
    path("notices/", views.notices, name="notices"),
    path("notices/read/", views.read_notices, name="notices_read"),
    path("api/cases/<str:code>/moves/", api.MoveList.as_view(), name="api_moves"),
    path("api/cases/<str:code>/moves/<str:name>/", api.MoveMake.as_view(), name="api_move"),
]
