"""The tag that shows a page's two lines of help; an error page has none."""

from typing import Any

from django import template
from django.template import Context

from shopparts.page_help import PAGES, Lines

register = template.Library()


@register.inclusion_tag("_about.html", takes_context=True)
def about_page(context: Context) -> dict[str, Lines | None]:
    match: Any = getattr(context.get("request"), "resolver_match", None)
    lines = PAGES.get(match.view_name) if match else None
    return {"lines": lines}
