from django.urls import URLPattern, URLResolver, path

from shopparts import first_run, views

urlpatterns: list[URLPattern | URLResolver] = [
    path("", views.today, name="today"),
    path("first-owner/<str:token>/", first_run.first_owner, name="first_owner"),
    path("log-in/", views.log_in, name="log_in"),
    path("log-out/", views.log_out, name="log_out"),
    path("password/", views.change_password, name="change_password"),
    path("site/", views.switch_site, name="switch_site"),
]
