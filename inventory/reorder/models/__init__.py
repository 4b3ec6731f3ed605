"""From whom to buy, what was ordered and delivered, and the plan with every figure behind it."""

from inventory.reorder.models.claims import Claim, ClaimStatus
from inventory.reorder.models.offers import Offer, OfferBreak, PriceList, Supplier
from inventory.reorder.models.orders import (
    Delivery,
    DeliveryLine,
    Order,
    OrderLine,
    OrderStatus,
)
from inventory.reorder.models.plan import ExpectedAsk, PlanLine, PlanRun, PlanStatus

__all__ = [
    "Claim",
    "ClaimStatus",
    "Delivery",
    "DeliveryLine",
    "ExpectedAsk",
    "Offer",
    "OfferBreak",
    "Order",
    "OrderLine",
    "OrderStatus",
    "PlanLine",
    "PlanRun",
    "PlanStatus",
    "PriceList",
    "Supplier",
]
