from django.urls import path

from inventory.reorder import plans
from inventory.reorder.views import jobs_planned, plan_lines, vans

urlpatterns = [
    path("plan/", plans.plan_detail, name="plan_detail"),
    path("plan/parts/", plans.plan_parts, name="plan_parts"),
    path("plan/surplus/", plans.plan_surplus, name="plan_surplus"),
    path("plan/budget/", plans.plan_budget, name="plan_budget"),
    path("plan/jobs/", jobs_planned.plan_jobs, name="plan_jobs"),
    path("plan/assemblies/", jobs_planned.plan_assemblies, name="plan_assemblies"),
    path("plan/seasons/", plans.plan_seasons, name="plan_seasons"),
    path("plan/record/", plans.plan_record, name="plan_record"),
    path("plan/par/", vans.plan_par, name="plan_par"),
    path("plan/par/send/", vans.plan_par_send, name="plan_par_send"),
    path("plan/lines/<int:pk>/why/", plan_lines.plan_why, name="plan_why"),
    path("plan/lines/<int:pk>/goal/", plan_lines.plan_goal_set, name="plan_goal_set"),
    path("plan/lines/<int:pk>/goal/end/", plan_lines.plan_goal_end, name="plan_goal_end"),
    path("parts/<int:pk>/goal/", plan_lines.part_goal, name="part_goal"),
    path("suppliers/<int:pk>/top-up/", plans.plan_top_up, name="plan_top_up"),
]
