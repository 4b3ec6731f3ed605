from django.urls import URLPattern, URLResolver, include, path

app_name = "jobs"

urlpatterns: list[URLPattern | URLResolver] = [
    path("", include("jobs.review.urls")),
    path("", include("jobs.review.ahead_urls")),
]
