from django.urls import URLPattern, URLResolver, include, path

from shopparts import first_run, health, views, views_data, views_fit

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
    path("health/", health.health, name="health"),
    path("data/", views_data.data, name="data"),
    path("data/check/", views_data.data_check, name="data_check"),
    path("data/save/", views_data.data_save, name="data_save"),
    path("data/template/", views_data.data_template, name="data_template"),
    path("data/csv/", views_data.data_csv, name="data_csv"),
    path("runs/<int:pk>/", views_data.run_detail, name="run_detail"),
    path("runs/<int:pk>/load/", views_data.run_load, name="run_load"),
    path("runs/<int:pk>/cancel/", views_data.run_cancel, name="run_cancel"),
    path("runs/<int:pk>/file/", views_data.run_file, name="run_file"),
    path("backups/", views_data.backup_list, name="backup_list"),
    path("backups/now/", views_data.backup_now, name="backup_now"),
]
