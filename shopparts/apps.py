from django.apps import AppConfig


class ShoppartsConfig(AppConfig):
    name = "shopparts"
