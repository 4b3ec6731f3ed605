"""A price list on its way: uploaded, its columns matched, its prices accepted as dated offers."""

from collections.abc import Mapping
from datetime import date
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from inventory.reorder.actions.prices import accept_prices
from inventory.reorder.models import PriceList, Supplier
from inventory.reorder.price_file import PriceTable
from inventory.reorder.price_match import (
    REQUIRED,
    ROLES,
    guess_columns,
    guess_mark,
    read_prices,
)
from inventory.shop.amounts import count_text
from inventory.shop.models import ShopSettings


@transaction.atomic
def upload_prices(
    supplier: Supplier, *, key: str, file_name: str, table: PriceTable, by: Any
) -> PriceList:
    """Keep the file's rows until they are accepted; one that waits is replaced by the next."""
    if found := PriceList.objects.filter(key=key).first():
        return found
    supplier.price_lists.filter(accepted_at=None).delete()
    last = supplier.price_lists.accepted().first()
    remembered = last.columns if last else {"mark": guess_mark(table.rows)}
    listed = PriceList(
        key=key,
        supplier=supplier,
        file_name=file_name[:120],
        heads=table.heads,
        rows=table.rows,
        columns=guess_columns(table.heads, remembered),
        by=by,
    )
    listed.save()
    return listed


@transaction.atomic
def match_columns(
    listed: PriceList, *, columns: Mapping[str, str], valid_from: date, by: Any
) -> PriceList:
    """Say what each column means and from when the prices hold."""
    listed = _waiting(listed)
    chosen = [columns[role] for role in ROLES if columns.get(role)]
    if any(not columns.get(role) for role in REQUIRED):
        raise ValidationError("Choose the column of the part's code and that of the price.")
    if len(set(chosen)) < len(chosen):
        raise ValidationError("One column is chosen for two things; choose another for one.")
    listed.columns, listed.valid_from, listed.by = dict(columns), valid_from, by
    listed.save(update_fields=["columns", "valid_from", "by"])
    return listed


@transaction.atomic
def accept_list(listed: PriceList, *, by: Any) -> PriceList:
    """Write the sound rows as offers from their day on; a second click changes nothing."""
    listed = PriceList.objects.select_for_update(of=("self",)).get(pk=listed.pk)
    if listed.accepted_at:
        return listed
    if listed.valid_from is None:
        raise ValidationError("Say what the columns mean first, and from when the prices hold.")
    read = read_prices(listed, ShopSettings.load())
    offers = accept_prices(listed.supplier, read.prices, valid_from=listed.valid_from, by=by)
    written, left = count_text(len(offers), "offer"), count_text(len(read.faults), "row")
    listed.words = f"{written} written, {left} left out"
    # The offers carry the prices now; the file itself need not be kept.
    listed.accepted_at, listed.by, listed.rows = timezone.now(), by, []
    listed.save(update_fields=["accepted_at", "by", "rows", "words"])
    return listed


def _waiting(listed: PriceList) -> PriceList:
    listed = PriceList.objects.select_for_update(of=("self",)).get(pk=listed.pk)
    if listed.accepted_at:
        raise ValidationError(
            f"“{listed}” was accepted already; upload the next list to change prices again."
        )
    return listed
