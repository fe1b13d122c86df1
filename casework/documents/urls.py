"""Where are the papers of a case?"""

from django.urls import path

from casework.documents import views

urlpatterns = [
    path("cases/<str:code>/papers/", views.paper_list, name="case_papers"),
    path("cases/<str:code>/papers/<int:paper_id>/", views.stored_print, name="case_paper"),
    path(
        "cases/<str:code>/papers/<int:paper_id>/print/",
        views.print_view,
        name="case_paper_print",
    ),
]
