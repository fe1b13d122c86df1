"""Which pages show and change parts, material lots and parcels?"""

from django.urls import path

from casework.fabrication import parcel_views, views

_PARTS, _PARCELS = "cases/<str:code>/parts/", "cases/<str:code>/parcels/"

urlpatterns = [
    path("lots/", views.lots, name="material_lots"),
    path(_PARTS, views.parts_page, name="case_parts"),
    path(f"{_PARTS}enclose/", views.enclose, name="part_enclose"),
    path(f"{_PARTS}disinfect/", views.disinfect, name="parts_disinfect"),
    path(f"{_PARTS}stay/", views.stay, name="parts_stay"),
    path(f"{_PARTS}<int:pk>/", views.record, name="part_record"),
    path(f"{_PARTS}<int:pk>/inspect/", views.inspect, name="part_inspect"),
    path(f"{_PARTS}<int:pk>/remake/", views.remake, name="part_remake"),
    path(f"{_PARCELS}pack/<str:name>/", parcel_views.pack, name="parcel_pack"),
    path(f"{_PARCELS}<int:pk>/", parcel_views.parcel_page, name="parcel"),
    path(f"{_PARCELS}<int:pk>/count/", parcel_views.count, name="parcel_count"),
    path(f"{_PARCELS}<int:pk>/lost/", parcel_views.lost, name="parcel_lost"),
    path(f"{_PARCELS}<int:pk>/back/", parcel_views.take_back, name="parcel_take_back"),
]
