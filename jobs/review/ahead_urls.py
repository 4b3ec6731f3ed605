from django.urls import path

from jobs.review.views import ahead

urlpatterns = [
    path("waves/", ahead.wave_list, name="wave_list"),
    path("range/", ahead.part_range, name="part_range"),
]
