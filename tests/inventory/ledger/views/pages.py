"""Sending the forms of the stock pages, and reading what came of it."""

import itertools
from html import unescape

from django.urls import reverse

from inventory.ledger.actions import receive_stock
from inventory.ledger.models import Shelf

_keys = itertools.count(1)


def stock(part, site, pieces, cents=1000, **where):
    return receive_stock(
        part, site=site, pieces=pieces, value_cents=cents, by=None, key=f"s{next(_keys)}", **where
    )


def send(client, name, record, site, key="form-1", **fields):
    form = {"key": key, "site": site.pk} | fields
    return client.post(reverse(f"inventory:{name}", args=[record.pk]), form, follow=True)


def text_of(answer):
    """The page as a person reads it."""
    return unescape(answer.content.decode())


def free(part, site):
    shelf = Shelf.objects.filter(part=part, site=site).first()
    return shelf.available if shelf else 0
