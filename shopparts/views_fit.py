"""Search, and the way from a vehicle to its parts."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_safe

from inventory.catalog.inputs import possible_fits
from inventory.catalog.models import Application
from inventory.catalog.names import makes, models_of
from inventory.shop.here import site_here
from inventory.shop.models import ShopSettings
from shopparts.fit import fit_for
from shopparts.fit_answer import answer_for
from shopparts.forms import FindingsForm
from shopparts.search import found_for


@require_safe
def search(request: HttpRequest) -> HttpResponse:
    """As one types a part of the page; on Enter the only hit itself, or the page of all."""
    text = request.GET.get("q", "")
    typing = request.headers.get("HX-Request") == "true"
    found = found_for(text, today=site_here(request).today(), limit=8 if typing else 20)
    if len(found.hits) == 1 and not typing and not found.notes:
        return redirect(found.hits[0].address)
    context = {"q": text, "found": found}
    return render(request, "_found.html" if typing else "search.html", context)


@require_safe
def fit(request: HttpRequest) -> HttpResponse:
    make, model = (request.GET.get(name, "") for name in ("make", "model"))
    if make and model:
        return render(request, "fit.html", _narrowed(request))
    context = {"models": models_of(make)} if make else {"makes": makes()}
    return render(request, "fit.html", context)


def _narrowed(request: HttpRequest) -> dict[str, Any]:
    """The question to ask about this make and model, or what fits."""
    shop = ShopSettings.load()
    form = FindingsForm(request.GET, shop=shop)
    findings = form.findings()
    state = fit_for(request.GET, findings)
    context = {"shop": shop, "fit": state, "findings_form": form}
    if state.settled:
        context["answer"] = answer_for(
            state.left, findings=findings, site=site_here(request), shop=shop
        )
    return context


@require_safe
def fit_answer(request: HttpRequest, pk: int) -> HttpResponse:
    application = get_object_or_404(Application, pk=pk)
    shop = ShopSettings.load()
    form = FindingsForm(request.GET, shop=shop)
    answer = answer_for(
        possible_fits([application]),
        findings=form.findings(),
        site=site_here(request),
        shop=shop,
    )
    context = {"shop": shop, "answer": answer, "findings_form": form}
    return render(request, "fit_answer.html", context)
