"""Which pages show many cases, and where are they read as JSON?"""

from django.urls import path

from casework.boards import api, views

urlpatterns = [
    path("", views.start, name="start"),
    path("boards/decide/", views.decide, name="board_decide"),
    path("boards/make/", views.make, name="board_make"),
    path("boards/waiting/", views.waiting, name="board_waiting"),
    path("boards/mine/", views.mine, name="board_mine"),
    path("boards/front-desk/", views.front_desk, name="board_front_desk"),
    path("boards/front-desk/<str:kind>/<str:booked>/", views.visits, name="board_visits"),
    path("boards/load/", views.load, name="board_load"),
    path("boards/load/<str:name>/", views.load_list, name="board_load_list"),
    path("boards/<str:board>/<str:section>/", views.section, name="board_section"),
    path("cases/", views.cases, name="cases"),
    path("api/cases/", api.CaseList.as_view(), name="api_cases"),
    path("api/cases/<str:code>/", api.CaseDetail.as_view(), name="api_case"),
]
