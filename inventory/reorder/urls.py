from django.urls import URLPattern, URLResolver, include, path

from inventory.reorder.views import claims, deliveries, orders, price_lists, suppliers

urlpatterns: list[URLPattern | URLResolver] = [
    path("", include("inventory.reorder.plan_urls")),
    path("orders/", orders.order_list, name="order_list"),
    path("orders/special/", orders.special_list, name="special_list"),
    path("orders/<int:pk>/", orders.order_detail, name="order_detail"),
    path("orders/<int:pk>/change/", orders.order_change, name="order_change"),
    path("orders/<int:pk>/add/", orders.order_add, name="order_add"),
    path("orders/<int:pk>/send/", orders.order_send, name="order_send"),
    path("orders/<int:pk>/withdraw/", orders.order_withdraw, name="order_withdraw"),
    path("orders/<int:pk>/receive/", deliveries.order_receive, name="order_receive"),
    path(
        "deliveries/<int:pk>/take-back/", deliveries.delivery_take_back, name="delivery_take_back"
    ),
    path("delivery-lines/<int:pk>/price/", deliveries.delivery_price, name="delivery_price"),
    path("suppliers/", suppliers.supplier_list, name="supplier_list"),
    path("suppliers/new/", suppliers.supplier_new, name="supplier_new"),
    path("suppliers/<int:pk>/", suppliers.supplier_detail, name="supplier_detail"),
    path("suppliers/<int:pk>/change/", suppliers.supplier_change, name="supplier_change"),
    path("suppliers/<int:pk>/offers/new/", suppliers.offer_new, name="offer_new"),
    path("suppliers/<int:pk>/send-back/", suppliers.supplier_send_back, name="supplier_send_back"),
    path("suppliers/<int:pk>/order/", orders.order_new, name="order_new"),
    path("suppliers/<int:pk>/draft/", orders.order_draft, name="order_draft"),
    path("suppliers/<int:pk>/prices/", price_lists.price_list_new, name="price_list_new"),
    path("suppliers/<int:pk>/rises/", price_lists.rise_order, name="rise_order"),
    path("rises/", price_lists.rise_list, name="rise_list"),
    path("price-lists/<int:pk>/", price_lists.price_list_detail, name="price_list_detail"),
    path("price-lists/<int:pk>/match/", price_lists.price_list_match, name="price_list_match"),
    path("price-lists/<int:pk>/accept/", price_lists.price_list_accept, name="price_list_accept"),
    path("claims/", claims.claim_list, name="claim_list"),
    path("claims/new/", claims.claim_new, name="claim_new"),
    path("claims/send/", claims.claim_send, name="claim_send"),
    path("claims/<int:pk>/", claims.claim_detail, name="claim_detail"),
    path("claims/<int:pk>/answer/", claims.claim_answer, name="claim_answer"),
    path("claims/<int:pk>/scrap/", claims.claim_scrap, name="claim_scrap"),
]
