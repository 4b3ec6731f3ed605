from django.urls import path

from inventory.reorder import plans
from inventory.reorder.views import claims, orders

urlpatterns = [
    path("plan/", plans.plan_detail, name="plan_detail"),
    path("plan/again/", plans.plan_again, name="plan_again"),
    path("plan/parts/", plans.plan_parts, name="plan_parts"),
    path("plan/surplus/", plans.plan_surplus, name="plan_surplus"),
    path("plan/lines/<int:pk>/why/", plans.plan_why, name="plan_why"),
    path("orders/", orders.order_list, name="order_list"),
    path("orders/<int:pk>/", orders.order_detail, name="order_detail"),
    path("orders/<int:pk>/change/", orders.order_change, name="order_change"),
    path("orders/<int:pk>/add/", orders.order_add, name="order_add"),
    path("orders/<int:pk>/send/", orders.order_send, name="order_send"),
    path("orders/<int:pk>/withdraw/", orders.order_withdraw, name="order_withdraw"),
    path("orders/<int:pk>/receive/", orders.order_receive, name="order_receive"),
    path("suppliers/", orders.supplier_list, name="supplier_list"),
    path("suppliers/<int:pk>/top-up/", plans.plan_top_up, name="plan_top_up"),
    path("suppliers/<int:pk>/draft/", orders.order_draft, name="order_draft"),
    path("claims/", claims.claim_list, name="claim_list"),
    path("claims/new/", claims.claim_new, name="claim_new"),
    path("claims/send/", claims.claim_send, name="claim_send"),
    path("claims/<int:pk>/", claims.claim_detail, name="claim_detail"),
    path("claims/<int:pk>/answer/", claims.claim_answer, name="claim_answer"),
    path("claims/<int:pk>/scrap/", claims.claim_scrap, name="claim_scrap"),
]
