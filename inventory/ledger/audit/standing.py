"""What is kept for quick reading, lots and shelves, against what the movements say."""

from collections import defaultdict

from django.db.models import Sum

from inventory.ledger.audit.proof import AT_A_TIME, Balance, Proof
from inventory.ledger.models import Condition, Hold, Lot, Shelf


def check_lots(proof: Proof) -> None:
    """Movements sum to lots."""
    for lot in Lot.objects.order_by("pk").iterator(AT_A_TIME):
        told = proof.lots.get(lot.pk, Balance(pieces_received=0))
        for words, kept, moved in (
            ("pieces left", lot.pieces_left, told.pieces),
            ("cents left", lot.cents_left, told.cents),
            ("pieces received", lot.pieces_received, told.pieces_received),
            ("cents received", lot.cents_received, told.cents_received),
        ):
            if kept != moved:
                proof.blame(f"Lot {lot.key}", f"says {kept} {words}; its movements say {moved}.")
        if told.pieces == 0 and told.cents:
            proof.blame(f"Lot {lot.key}", f"has no pieces left, but {told.cents} cents.")


def check_shelves(proof: Proof) -> None:
    """Lots sum to their shelf, holds to what it has held."""
    on_hand: dict[int, int] = defaultdict(int)
    usable: dict[int, int] = defaultdict(int)
    for lot, of, condition in Lot.objects.values_list("pk", "shelf", "condition").iterator():
        left = proof.lots[lot].pieces
        on_hand[of] += left
        usable[of] += left if condition in Condition.usable() else 0
    held = dict(Hold.objects.order_by().values_list("shelf").annotate(sum=Sum("pieces")).iterator())
    for shelf in Shelf.objects.select_related("part", "site").order_by("pk").iterator():
        for words, kept, summed in (
            ("on hand", shelf.on_hand, on_hand[shelf.pk]),
            ("usable", shelf.usable, usable[shelf.pk]),
            ("held", shelf.held, held.get(shelf.pk, 0)),
        ):
            if kept != summed:
                proof.blame(
                    f"Shelf {shelf}", f"says {kept} {words}; its lots and holds say {summed}."
                )
        if not 0 <= shelf.held <= shelf.usable <= shelf.on_hand:
            proof.blame(f"Shelf {shelf}", "holds fewer pieces than it promises.")
