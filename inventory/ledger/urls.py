from django.urls import path

from inventory.ledger import views

urlpatterns = [
    path("stock/", views.shelf_list, name="shelf_list"),
    path("parts/<int:pk>/shelf/", views.part_shelf, name="part_shelf"),
    path("parts/<int:pk>/issue/", views.part_issue, name="part_issue"),
    path("parts/<int:pk>/receive/", views.part_receive, name="part_receive"),
    path("parts/<int:pk>/count/", views.part_count, name="part_count"),
    path("postings/<int:pk>/undo/", views.posting_undo, name="posting_undo"),
]
