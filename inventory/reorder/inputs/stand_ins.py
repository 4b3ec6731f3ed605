"""Which universal parts stand in for which specific ones at a site, and how often one is taken."""

import numpy as np
from django.db.models import Q, Sum

from inventory.catalog.stand_ins import stand_in_pairs
from inventory.ledger.models import AskOutcome, How
from inventory.reorder.inputs.facts import Ints, Rows, StandIns, coded
from inventory.reorder.inputs.stock import table

# An assumption, until the shop's own asks tell: of those whose part is not on the shelf, half take
# another one that fits.
TAKEN, NOT_THERE = 4.0, 8.0


def read_stand_ins(rows: Rows) -> StandIns:
    pairs = table(stand_in_pairs(), 3)
    pairs = pairs[np.lexsort((pairs[:, 1], -pairs[:, 2], pairs[:, 0]))]
    specific, universal = at_every_site(rows, pairs)
    return StandIns(specific=specific, universal=universal, share=share_taken(pairs))


def at_every_site(rows: Rows, pairs: Ints) -> tuple[Ints, Ints]:
    """Rows of each pair at each site where the plan looks at both."""
    sites = np.unique(rows.site)
    site = np.repeat(sites, len(pairs))
    specific, universal = np.tile(pairs[:, 0], len(sites)), np.tile(pairs[:, 1], len(sites))
    code = rows.code
    both = np.isin(coded(specific, site), code) & np.isin(coded(universal, site), code)
    return rows.of(specific[both], site[both]), rows.of(universal[both], site[both])


def share_taken(pairs: Ints) -> float:
    """Of the pieces that were not on the shelf and have a stand-in, the share it served."""
    elsewhere = Q(how=How.LOST) | Q(how=How.WAITED) | Q(how=How.BOUGHT_IN)
    elsewhere |= Q(how=How.MOVED_HERE) | Q(how=How.PUT_TOGETHER)
    outcomes = AskOutcome.objects.filter(elsewhere | Q(how=How.SUBSTITUTE))
    found = outcomes.order_by().values_list("ask__part_id", "how").annotate(pieces=Sum("pieces"))
    specific = set(np.unique(pairs[:, 0]).tolist())
    told = [(how, pieces) for part, how, pieces in found if part in specific]
    taken = sum(pieces for how, pieces in told if how == How.SUBSTITUTE)
    return float((taken + TAKEN) / (sum(pieces for _, pieces in told) + NOT_THERE))
