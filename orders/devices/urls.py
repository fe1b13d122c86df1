"""Which pages look after shared computers, lock them, and let people step in?"""

from django.urls import path

from orders.devices import views

urlpatterns = [
    path("devices/", views.devices, name="devices"),
    path("devices/lock-time/", views.lock_time, name="device_lock_time"),
    path("devices/<int:pk>/withdraw/", views.withdraw, name="device_withdraw"),
    path("device/lock/", views.lock, name="device_lock"),
    path("device/enter/", views.enter, name="device_enter"),
    path("device/back/", views.back, name="device_back"),
    path("device/here/", views.here, name="device_here"),
    path("profile/pin/", views.pin, name="pin"),
    path("profile/pin/remove/", views.remove_pin, name="pin_remove"),
]
