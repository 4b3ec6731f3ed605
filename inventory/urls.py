from django.urls import URLPattern, URLResolver, include, path

app_name = "inventory"

urlpatterns: list[URLPattern | URLResolver] = [
    path("", include("inventory.reorder.urls")),
]
