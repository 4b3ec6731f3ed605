"""Every address of our own, read from the resolver, for the tests that hold for all of them."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

from django.urls import URLPattern, URLResolver, get_resolver

OURS = ("shopparts.", "inventory.", "jobs.")


@dataclass(frozen=True, slots=True, kw_only=True)
class Address:
    name: str
    route: str
    view: Callable[..., Any]
    arguments: tuple[str, ...]

    def __str__(self) -> str:
        return self.name


def own_addresses() -> list[Address]:
    return list(_walk(get_resolver(), "", ""))


def _walk(resolver: URLResolver, route: str, space: str) -> Iterator[Address]:
    for entry in resolver.url_patterns:
        here = route + str(entry.pattern)
        if isinstance(entry, URLResolver):
            yield from _walk(
                entry, here, f"{space}{entry.namespace}:" if entry.namespace else space
            )
        elif isinstance(entry, URLPattern) and entry.callback.__module__.startswith(OURS):
            yield Address(
                name=f"{space}{entry.name}",
                route=here,
                view=entry.callback,
                arguments=tuple(entry.pattern.converters),
            )
