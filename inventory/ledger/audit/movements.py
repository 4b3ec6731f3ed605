"""The walk through all movements in order of recording: nothing below 0, nothing out of nothing."""

from collections.abc import Iterator

from inventory.ledger.audit.proof import AT_A_TIME, Proof, Step
from inventory.ledger.models import Lot, Movement, PostingKind

ANSWERS = frozenset({PostingKind.RETURNED, PostingKind.REVALUED, PostingKind.UNDONE})


def check_movements(proof: Proof) -> None:
    for lot, part, site in Lot.objects.values_list("pk", "shelf__part", "shelf__site").iterator():
        proof.lot_shelf[lot] = (part, site)
    for step in _steps():
        proof.steps[step.pk] = step
        proof.posted[step.posting].append(step)
        _check_place(proof, step)
        _add_to_lot(proof, step)
        _check_answer(proof, step)


def _steps() -> Iterator[Step]:
    rows = Movement.objects.order_by("pk").values_list(
        "pk", "posting", "posting__key", "number", "posting__kind", "lot", "part", "site",
        "pieces", "cents", "of",
    )  # fmt: skip
    for pk, posting, key, number, kind, lot, part, site, pieces, cents, of in rows.iterator(
        AT_A_TIME
    ):
        name = f"{key}/{number}"
        yield Step(pk, posting, name, kind, lot, (part, site), pieces, cents, of)


def _check_place(proof: Proof, step: Step) -> None:
    if proof.lot_shelf.get(step.lot) != step.shelf:
        proof.blame(f"Movement {step.name}", "names another part or site than its lot.")


def _add_to_lot(proof: Proof, step: Step) -> None:
    balance = proof.lots[step.lot]
    balance.pieces += step.pieces
    balance.cents += step.cents
    if balance.pieces_received is None:
        balance.pieces_received, balance.cents_received = step.pieces, step.cents
        if step.pieces <= 0:
            proof.blame(f"Movement {step.name}", "takes from a lot to which nothing had come.")
    elif step.pieces == 0 and _corrects_receipt(proof, step):
        balance.cents_received += step.cents
    if balance.pieces < 0:
        proof.blame(f"Movement {step.name}", f"leaves {balance.pieces} pieces in its lot.")


def _corrects_receipt(proof: Proof, step: Step) -> bool:
    """Whether a correction, or the undo of one, is of pieces that came in."""
    of = proof.steps.get(step.of or 0)
    while of is not None and of.pieces == 0:
        of = proof.steps.get(of.of or 0)
    return of is not None and of.pieces > 0


def _check_answer(proof: Proof, step: Step) -> None:
    if step.of is None:
        if step.kind in ANSWERS:
            proof.blame(f"Movement {step.name}", "does not say which movement it answers.")
        return
    of = proof.steps.get(step.of)
    if of is None:
        proof.blame(f"Movement {step.name}", "answers a movement that was recorded later.")
    elif step.pieces:
        _count_back(proof, step, of)


def _count_back(proof: Proof, step: Step, of: Step) -> None:
    """Never more may come back than went; an undone return makes room for another."""
    proof.answered[of.pk] += step.pieces
    if step.kind == PostingKind.UNDONE and of.of is not None and of.pieces:
        proof.answered[of.of] += step.pieces
    for each in (of.pk, of.of or of.pk):
        whole = proof.steps[each].pieces
        back = proof.answered[each]
        if back * whole > 0 or abs(back) > abs(whole):
            proof.blame(
                f"Movement {step.name}",
                f"brings back {abs(back)} of {abs(whole)} of movement {proof.steps[each].name}.",
            )
