"""Which pages let people sign in and look after their party?"""

from django.urls import path

from orders.parties import views

urlpatterns = [
    path("sign-in/", views.sign_in, name="sign_in"),
    path("sign-out/", views.sign_out, name="sign_out"),
    path("sign-in/forgotten/", views.forgotten, name="forgotten"),
    path("sign-in/asked/", views.reset_asked, name="reset_asked"),
    path("sign-in/new-password/<uidb64>/<token>/", views.reset_confirm, name="reset_confirm"),
    path("choose-party/", views.choose_party, name="choose_party"),
    path("profile/", views.profile, name="profile"),
    path("profile/password/", views.password, name="password"),
    path("members/", views.members, name="members"),
    path("members/<int:pk>/", views.member_page, name="member"),
    path("members/<int:pk>/off/", views.member_off, name="member_off"),
    path("members/<int:pk>/on/", views.member_on, name="member_on"),
    path("party/", views.party, name="party"),
    path("party/join-code/", views.renew_code, name="party_join_code"),
    path("party/partners/", views.join, name="party_join"),
]
