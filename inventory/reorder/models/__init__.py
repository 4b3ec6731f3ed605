"""From whom to buy, what was ordered and delivered, and the plan with every figure behind it."""

from inventory.reorder.models.claims import Claim, ClaimStatus
from inventory.reorder.models.goals import GoalKind, PartGoal
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
    "GoalKind",
    "Offer",
    "OfferBreak",
    "Order",
    "OrderLine",
    "OrderStatus",
    "PartGoal",
    "PlanLine",
    "PlanRun",
    "PlanStatus",
    "PriceList",
    "Supplier",
]
