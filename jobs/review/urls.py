from django.urls import path

from jobs.review.views import bay, money, money_comebacks, money_shelf, paper, vehicles

urlpatterns = [
    path("jobs/", bay.job_list, name="job_list"),
    path("jobs/<int:pk>/", bay.job_detail, name="job_detail"),
    path("jobs/<int:pk>/card/", bay.job_card, name="job_card"),
    path("jobs/<int:pk>/options/", paper.job_options, name="job_options"),
    path("jobs/<int:pk>/read/", bay.job_read, name="job_read"),
    path("jobs/<int:pk>/change-tires/", bay.job_change_tires, name="job_change_tires"),
    path("jobs/<int:pk>/approve/", bay.job_approve, name="job_approve"),
    path("jobs/<int:pk>/decline/", bay.job_decline, name="job_decline"),
    path("jobs/<int:pk>/close/", bay.job_close, name="job_close"),
    path("jobs/<int:pk>/wheels/<int:wheel>/inspect/", bay.job_inspect, name="job_inspect"),
    path("jobs/<int:pk>/wheels/<int:wheel>/do/", bay.job_do, name="job_do"),
    path("jobs/<int:pk>/lines/<int:line>/take-back/", bay.job_take_back, name="job_take_back"),
    path("jobs/<int:pk>/margin/", money.job_margin, name="job_margin"),
    path("money/", money.money, name="money"),
    path("money/jobs/", money.money_jobs, name="money_jobs"),
    path("money/shelf/", money_shelf.money_shelf, name="money_shelf"),
    path("money/comebacks/", money_comebacks.money_comebacks, name="money_comebacks"),
    path("money/moved/", money.money_moved, name="money_moved"),
    path("vehicles/new/", vehicles.vehicle_new, name="vehicle_new"),
    path("vehicles/<int:pk>/", vehicles.vehicle_detail, name="vehicle_detail"),
    path("vehicles/<int:pk>/open-job/", vehicles.job_open, name="job_open"),
]
