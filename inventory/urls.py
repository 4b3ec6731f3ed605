from django.urls import URLPattern, URLResolver, include, path

from inventory.reorder import parts
from inventory.reorder.views import parts as by_hand

app_name = "inventory"

urlpatterns: list[URLPattern | URLResolver] = [
    path("parts/new/", by_hand.part_new, name="part_new"),
    path("parts/<int:pk>/change/", by_hand.part_change, name="part_change"),
    path("parts/<int:pk>/fits/", by_hand.part_fits, name="part_fits"),
    path("parts/<int:pk>/", parts.part_detail, name="part_detail"),
    path("parts/<int:pk>/supersede/", parts.part_supersede, name="part_supersede"),
    path("supersessions/<int:pk>/end/", parts.supersession_end, name="supersession_end"),
    path("", include("inventory.ledger.urls")),
    path("", include("inventory.reorder.urls")),
]
