from django.urls import URLPattern, URLResolver, include, path

from inventory.reorder import parts

app_name = "inventory"

urlpatterns: list[URLPattern | URLResolver] = [
    path("parts/<int:pk>/", parts.part_detail, name="part_detail"),
    path("", include("inventory.ledger.urls")),
    path("", include("inventory.reorder.urls")),
]
