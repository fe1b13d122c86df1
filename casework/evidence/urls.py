"""Which addresses has a case's file?"""

from django.urls import path

from casework.evidence import api, views

FILES = "cases/<str:code>/files"

urlpatterns = [
    path(f"{FILES}/", views.file_list, name="case_files"),
    path(f"{FILES}/add/", views.add_files, name="case_files_add"),
    path(f"{FILES}/take-along/", views.download_all, name="case_files_download"),
    path(f"{FILES}/confirm/", views.confirm_proposals, name="case_files_confirm"),
    path(f"{FILES}/<int:number>/", views.one_file, name="case_file"),
    path(f"{FILES}/<int:number>/confirm/", views.confirm, name="case_file_confirm"),
    path(f"{FILES}/<int:number>/unit/", views.settle_unit, name="case_file_unit"),
    path(f"{FILES}/<int:number>/again/", views.inspect_again, name="case_file_again"),
    path(f"{FILES}/<int:number>/download/", views.download, name="case_file_download"),
    path(f"api/{FILES}/", api.files, name="api_case_files"),
]
