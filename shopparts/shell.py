"""What every page's frame needs: the shop, the site in hand, the words of the navigation."""

from typing import Any

from django.http import HttpRequest

from inventory.shop.models import ShopSettings


def shell(request: HttpRequest) -> dict[str, Any]:
    return {"shop": ShopSettings.load()}
