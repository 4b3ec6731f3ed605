from django.urls import path

from inventory.ledger.views import holds, posting, shelf, transfers

urlpatterns = [
    path("stock/", shelf.shelf_list, name="shelf_list"),
    path("parts/<int:pk>/shelf/", shelf.part_shelf, name="part_shelf"),
    path("parts/<int:pk>/issue/", shelf.part_issue, name="part_issue"),
    path("parts/<int:pk>/receive/", shelf.part_receive, name="part_receive"),
    path("parts/<int:pk>/count/", shelf.part_count, name="part_count"),
    path("parts/<int:pk>/return/", posting.part_return, name="part_return"),
    path("parts/<int:pk>/scrap/", posting.part_scrap, name="part_scrap"),
    path("parts/<int:pk>/move/", posting.part_move, name="part_move"),
    path("parts/<int:pk>/send/", posting.part_send, name="part_send"),
    path("parts/<int:pk>/hold/", posting.part_hold, name="part_hold"),
    path("parts/<int:pk>/take-apart/", posting.part_take_apart, name="part_take_apart"),
    path("parts/<int:pk>/put-together/", posting.part_put_together, name="part_put_together"),
    path("transfers/", transfers.transfer_list, name="transfer_list"),
    path("transfers/<int:pk>/receive/", transfers.transfer_receive, name="transfer_receive"),
    path("transfers/<int:pk>/send-back/", transfers.transfer_send_back, name="transfer_send_back"),
    path("transfers/<int:pk>/keep/", transfers.transfer_keep, name="transfer_keep"),
    path("holds/", holds.hold_list, name="hold_list"),
    path("holds/<int:pk>/call/", holds.hold_call, name="hold_call"),
    path("holds/<int:pk>/issue/", holds.hold_issue, name="hold_issue"),
    path("holds/<int:pk>/release/", holds.hold_release, name="hold_release"),
    path("postings/<int:pk>/undo/", shelf.posting_undo, name="posting_undo"),
]
