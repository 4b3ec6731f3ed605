"""Asks against their outcomes, and issues against the asks they answer."""

from collections import defaultdict

from inventory.ledger.audit.proof import AT_A_TIME, Proof
from inventory.ledger.models import Ask, AskOutcome, PostingKind


def check_asks(proof: Proof) -> None:
    """No more outcomes than asked; every issued piece answers an ask."""
    by_how: dict[tuple[int, str], int] = defaultdict(int)
    served: dict[int, int] = defaultdict(int)
    rows = AskOutcome.objects.order_by("pk").values_list("ask", "how", "pieces", "posting")
    for ask, how, pieces, posting in rows.iterator(AT_A_TIME):
        by_how[ask, how] += pieces
        if posting is not None:
            served[posting] += pieces
    _check_settled(proof, by_how)
    _check_issues(proof, served)


def _check_settled(proof: Proof, by_how: dict[tuple[int, str], int]) -> None:
    keys: dict[int, str] = {}
    settled: dict[int, int] = defaultdict(int)
    for (ask, _), pieces in by_how.items():
        settled[ask] += pieces
    for pk, key, pieces in Ask.objects.order_by("pk").values_list("pk", "key", "pieces").iterator():
        keys[pk] = key
        if settled[pk] > pieces:
            proof.blame(f"Ask {key}", f"is for {pieces} pieces, and {settled[pk]} are settled.")
    for (ask, how), pieces in by_how.items():
        if pieces < 0:
            proof.blame(f"Ask {keys[ask]}", f"takes back {-pieces} more than was {how}.")


def _check_issues(proof: Proof, served: dict[int, int]) -> None:
    for posting, steps in proof.posted.items():
        issued = -sum(step.pieces for step in steps)
        if steps[0].kind == PostingKind.ISSUED and served[posting] != issued:
            proof.blame(
                f"Movement {steps[0].name}",
                f"issues {issued} pieces, of which {served[posting]} answer an ask.",
            )
