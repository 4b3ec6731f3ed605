from django.urls import URLPattern, URLResolver, include, path

from shopparts import first_run, views, views_fit

urlpatterns: list[URLPattern | URLResolver] = [
    path("", views.today, name="today"),
    path("first-owner/<str:token>/", first_run.first_owner, name="first_owner"),
    path("log-in/", views.log_in, name="log_in"),
    path("log-out/", views.log_out, name="log_out"),
    path("password/", views.change_password, name="change_password"),
    path("search/", views_fit.search, name="search"),
    path("fit/", views_fit.fit, name="fit"),
    path("fit/not-listed/", views_fit.fit_not_listed, name="fit_not_listed"),
    path("fit/<int:pk>/", views_fit.fit_answer, name="fit_answer"),
    path("fit/<int:pk>/give/", views_fit.fit_give, name="fit_give"),
    path("", include("inventory.urls")),
    path("", include("jobs.urls")),
    path("site/", views.switch_site, name="switch_site"),
]
