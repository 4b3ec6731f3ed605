from django.urls import URLPattern, URLResolver, include, path

from inventory.reorder import parts

app_name = "inventory"

urlpatterns: list[URLPattern | URLResolver] = [
    path("parts/<int:pk>/", parts.part_detail, name="part_detail"),
    path("parts/<int:pk>/supersede/", parts.part_supersede, name="part_supersede"),
    path("supersessions/<int:pk>/end/", parts.supersession_end, name="supersession_end"),
    path("", include("inventory.ledger.urls")),
    path("", include("inventory.reorder.urls")),
]
