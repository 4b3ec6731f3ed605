"""Each posting against its kind, each undo against what it undoes."""

from collections import defaultdict

from inventory.ledger.audit.proof import AT_A_TIME, Proof, Step
from inventory.ledger.models import Posting, PostingKind, Shelf
from inventory.shop.models import SiteKind

BALANCED = frozenset({PostingKind.MOVED, PostingKind.TAKEN_APART, PostingKind.PUT_TOGETHER})
"""What comes in costs what went out."""
COMES_IN = frozenset({PostingKind.OPENING, PostingKind.RECEIVED, PostingKind.TAKEN_OFF})
GOES_OUT = frozenset({PostingKind.ISSUED, PostingKind.SCRAPPED, PostingKind.TO_SUPPLIER})


def check_postings(proof: Proof) -> None:
    """What a posting does agrees with its kind; an undo is the exact opposite of what stands."""
    road = set(Shelf.objects.filter(site__kind=SiteKind.TRANSIT).values_list("part", "site"))
    undone: dict[int, int] = {}
    rows = Posting.objects.order_by("pk").values_list("pk", "key", "kind", "undoes")
    for pk, key, kind, undoes in rows.iterator(AT_A_TIME):
        steps = proof.posted.get(pk, [])
        _check_kind(proof, key, kind, steps)
        if kind == PostingKind.ISSUED and any(step.shelf in road for step in steps):
            proof.blame(f"Posting {key}", "sells what is in transit.")
        if (kind == PostingKind.UNDONE) != (undoes is not None):
            proof.blame(f"Posting {key}", "is an undo without the posting it undoes, or not one.")
        if undoes is not None:
            if undoes in undone:
                proof.blame(f"Posting {key}", "undoes what was undone already.")
            undone[undoes] = pk
            _check_undo(proof, key, steps, proof.posted.get(undoes, []))


def _check_kind(proof: Proof, key: str, kind: str, steps: list[Step]) -> None:
    if kind != PostingKind.COUNTED and not steps:
        proof.blame(f"Posting {key}", "has no movements; it was left half posted.")
    if kind in COMES_IN and any(step.pieces <= 0 for step in steps):
        proof.blame(f"Posting {key}", "takes pieces away though it brings them in.")
    if kind in GOES_OUT and any(step.pieces >= 0 for step in steps):
        proof.blame(f"Posting {key}", "brings pieces in though it takes them away.")
    if kind in BALANCED and (cents := sum(step.cents for step in steps)):
        proof.blame(f"Posting {key}", f"makes {cents} cents out of nothing.")
    if kind == PostingKind.MOVED and any(_by_part(steps).values()):
        proof.blame(f"Posting {key}", "moves more pieces in than out, or fewer.")


def _by_part(steps: list[Step]) -> dict[int, int]:
    pieces: dict[int, int] = defaultdict(int)
    for step in steps:
        pieces[step.shelf[0]] += step.pieces
    return pieces


def _check_undo(proof: Proof, key: str, undo: list[Step], first: list[Step]) -> None:
    answered = {step.of: step for step in undo}
    if set(answered) != {step.pk for step in first}:
        proof.blame(f"Posting {key}", "undoes only some of the movements it should undo.")
        return
    for step in first:
        opposite = answered[step.pk]
        if opposite.pieces != -step.pieces or opposite.lot != step.lot:
            proof.blame(f"Movement {opposite.name}", f"is not the opposite of {step.name}.")
