"""Which pages ask and answer questions, and where are their pictures?"""

from django.urls import path

from casework.questions import views

urlpatterns = [
    path("cases/<str:code>/questions/", views.question_list, name="case_questions"),
    path("cases/<str:code>/questions/<int:number>/", views.answer, name="question_answer"),
    path(
        "cases/<str:code>/questions/<int:number>/pictures/<int:picture>/",
        views.picture,
        name="question_picture",
    ),
]
