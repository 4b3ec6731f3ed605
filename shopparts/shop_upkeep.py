"""The shop's settings, its sites and their bins, changed by hand; every change is in the log.

It stands above the subjects because two rules look across them: money once written is not
converted, and a bin that the stock or its history names is not dropped.
"""

from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from django.apps import apps
from django.core.exceptions import ValidationError
from django.db import models, transaction

from inventory.catalog.actions.kept import changed, created, removed
from inventory.ledger.models import CountLine, Lot
from inventory.shop.amounts import count_text
from inventory.shop.models import Bin, BinKind, ShopSettings, Site

CURRENCY = ("currency", "minor_digits")
NAMED = 3
"""Parts named in a sentence; of more it says only how many."""


@transaction.atomic
def change_settings(*, to: Mapping[str, Any], by: Any) -> ShopSettings:
    """Set these; the currency and its digits only while no amount is written in them."""
    shop = ShopSettings.load()
    if any(name in to and to[name] != getattr(shop, name) for name in CURRENCY):
        refuse_with_money(shop)
    return changed(shop, "shop settings", to=to, by=by)


def refuse_with_money(shop: ShopSettings) -> None:
    """
    Raises
    ------
    ValidationError
        If any amount is written in the currency of the shop.
    """
    if written := next(_money_written(), ""):
        raise ValidationError(
            f"Amounts are written in {shop.currency} already, such as {written}, and none is "
            "converted; leave currency and digits as they are, or begin an empty shop."
        )


def _money_written() -> Iterator[str]:
    """What holds an amount other than 0, in words; the settings themselves left aside."""
    for label in ("inventory", "jobs"):
        for model in apps.get_app_config(label).get_models():
            if model is ShopSettings:
                continue
            for field in model._meta.concrete_fields:
                if field.name.endswith("_cents") and _holds_any(model, field.name):
                    words = str(field.verbose_name).removesuffix(" cents")
                    yield f"the {words} of one {model._meta.verbose_name}"


def _holds_any(model: type[models.Model], name: str) -> bool:
    return model._default_manager.exclude(**{name: 0}).exclude(**{name: None}).exists()


@transaction.atomic
def add_site(*, by: Any, **facts: Any) -> Site:
    return created(Site(**facts), f"site {facts['name']}", by=by)


@transaction.atomic
def change_site(site: Site, *, to: Mapping[str, Any], by: Any) -> Site:
    return changed(site, f"site {site}", to=to, by=by)


@transaction.atomic
def add_bins(
    site: Site, lines: Iterable[tuple[str, str]], *, kind: str = BinKind.SHELF, by: Any
) -> list[Bin]:
    """One bin for each line of code and words; all of them, or none and why."""
    listed = list(lines)
    there = {code.casefold() for code in site.bins.values_list("code", flat=True)}
    for code, _ in listed:
        if code.casefold() in there:
            raise ValidationError(
                f"{site} has a bin {code} already, or the lines name it twice; take that line out."
            )
        there.add(code.casefold())
    return [
        created(Bin(site=site, code=code, words=words, kind=kind), f"bin {code} at {site}", by=by)
        for code, words in listed
    ]


@transaction.atomic
def change_bin(bin: Bin, *, to: Mapping[str, Any], by: Any) -> Bin:
    return changed(bin, f"bin {bin} at {bin.site}", to=to, by=by)


@transaction.atomic
def drop_bin(bin: Bin, *, by: Any) -> None:
    """A bin of which the book says nothing; any other is renamed instead.

    Raises
    ------
    ValidationError
        If parts lie in it, or once did: the book keeps where.
    """
    lots = Lot.objects.filter(bin=bin)
    lying = lots.left().values_list("shelf__part__number", flat=True)
    if numbers := sorted(set(lying)):
        raise ValidationError(f"{_named(numbers)} in bin {bin}; move what lies there first.")
    if lots.exists() or CountLine.objects.filter(bin=bin).exists():
        raise ValidationError(
            f"Parts lay in bin {bin} or were counted there, and the book keeps where; "
            "give it another code instead."
        )
    removed(bin, f"bin {bin} at {bin.site} dropped", by=by)


def _named(numbers: list[str]) -> str:
    more = len(numbers) - NAMED
    others = [f"{count_text(more, 'other part')}"] if more > 0 else []
    named = [*numbers[:NAMED], *others]
    verb = "lies" if len(named) == 1 else "lie"
    return f"{' and '.join(filter(None, [', '.join(named[:-1]), named[-1]]))} {verb}"
