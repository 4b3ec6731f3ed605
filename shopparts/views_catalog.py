"""Upkeep of the catalogue by the parts manager: what to settle, and one entry with its parts."""

from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from inventory.action_form import ActionForm
from inventory.catalog.actions.applications import (
    add_application,
    copy_application,
    edit_application,
)
from inventory.catalog.actions.fitments import list_part, settle_contradiction, unlist_part
from inventory.catalog.learned import borders
from inventory.catalog.models import Application, Evidence, Fitment
from inventory.catalog.names import names
from inventory.shop.models import Change, ShopSettings
from inventory.shop.roles import Role, role_required
from jobs.workshop.models import Vehicle
from shopparts.fit_gaps import gaps
from shopparts.fit_upkeep import drop_entry, merge_entry, move_entry_split, split_entry
from shopparts.fit_upkeep_forms import (
    ApplicationForm,
    CopyForm,
    FitmentForm,
    MergeForm,
    MoveSplitForm,
    NewEntryForm,
    SplitForm,
)

ROWS_A_PAGE = 50
LATEST_CHANGES = 10


@require_safe
@role_required(Role.PARTS_MANAGER)
def catalog_gaps(request: HttpRequest) -> HttpResponse:
    """What waits in the catalogue; the first kind that has any, unless the address names one."""
    kinds = gaps()
    named = [kind for kind in kinds if kind.key == request.GET.get("show")]
    shown = next((kind for kind in named or kinds if kind.rows), kinds[0])
    shown = named[0] if named else shown
    page = Paginator(shown.rows, ROWS_A_PAGE).get_page(request.GET.get("page"))
    total = sum(len(kind.rows) for kind in kinds)
    context = {"kinds": kinds, "show": shown.key, "shown": shown, "page": page, "total": total}
    return render(request, "catalog_gaps.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@role_required(Role.PARTS_MANAGER)
def application_new(request: HttpRequest) -> HttpResponse:
    asked = {name: request.GET[name][:60] for name in ("make", "model") if name in request.GET}
    form = NewEntryForm(request.POST or None, shop=ShopSettings.load(), asked=asked)
    if form.is_valid():
        key = form.cleaned_data["key"]
        made = form.submit(add_application, form.facts(), key=key, by=request.user)
        if made:
            # The list of makes is at most a minute old; whoever added one looks at once.
            names.forget()
            messages.success(request, f"{made} is listed. Now the parts it takes.")
            return redirect(f"{reverse('application_edit', args=[made.pk])}#parts")
    return render(request, "application_new.html", {"form": form})


def _entry_page(request: HttpRequest, application: Application, **forms: object) -> HttpResponse:
    shop = ShopSettings.load()
    context: dict[str, object] = {
        "application": application,
        "shop": shop,
        "fitments": application.fitments.select_related("part").order_by(
            "part__kind", "rank", "part__number"
        ),
        "borders": borders(application),
        "served": Vehicle.objects.filter(application=application).count(),
        "log": Change.objects.of(application).select_related("by")[:LATEST_CHANGES],
        "form": ApplicationForm(application=application, shop=shop),
        "fitment_form": FitmentForm(),
        "copy_form": CopyForm(
            initial={"year_from": application.year_to + 1, "year_to": application.year_to + 1}
        ),
        "split_form": SplitForm(),
        "merge_form": MergeForm(application=application),
    }
    return render(request, "application_edit.html", context | forms)


@require_http_methods(["GET", "HEAD", "POST"])
@role_required(Role.PARTS_MANAGER)
def application_edit(request: HttpRequest, pk: int) -> HttpResponse:
    application = get_object_or_404(Application, pk=pk)
    if request.method != "POST":
        return _entry_page(request, application)
    form = ApplicationForm(request.POST, application=application, shop=ShopSettings.load())
    if form.is_valid():
        checked = "checked" in request.POST
        saved = form.submit(
            edit_application, application, to=form.changes(), checked=checked, by=request.user
        )
        if saved:
            messages.success(request, f"{saved} is saved{' and checked' if checked else ''}.")
            return redirect("application_edit", pk)
        application.refresh_from_db()
    return _entry_page(request, application, form=form)


def _submitted(
    request: HttpRequest,
    application: Application,
    named_form: tuple[str, ActionForm],
    action: Callable[..., Any],
    words: str,
) -> HttpResponse:
    """Run an action of the entry's page; lead to what it made, or show the form with its errors."""
    name, form = named_form
    made = None
    if form.is_valid():
        made = form.submit(action, application, by=request.user, **form.cleaned_data)
    if made is None:
        application.refresh_from_db()
        return _entry_page(request, application, **{name: form})
    messages.success(request, words.format(made=made))
    target = made if isinstance(made, Application) else application
    return redirect("application_edit", target.pk)


@require_POST
@role_required(Role.PARTS_MANAGER)
def application_copy(request: HttpRequest, pk: int) -> HttpResponse:
    application = get_object_or_404(Application, pk=pk)
    form = ("copy_form", CopyForm(request.POST))
    words = "{made} is drafted with the same parts; check what changed."
    return _submitted(request, application, form, copy_application, words)


@require_POST
@role_required(Role.PARTS_MANAGER)
def application_split(request: HttpRequest, pk: int) -> HttpResponse:
    application = get_object_or_404(Application, pk=pk)
    form = ("split_form", SplitForm(request.POST))
    words = "Split. This is the later one: now list the parts that differ."
    return _submitted(request, application, form, split_entry, words)


@require_POST
@role_required(Role.PARTS_MANAGER)
def application_merge(request: HttpRequest, pk: int) -> HttpResponse:
    application = get_object_or_404(Application, pk=pk)
    form = ("merge_form", MergeForm(request.POST, application=application))
    return _submitted(request, application, form, merge_entry, "Merged into {made}.")


@require_POST
@role_required(Role.PARTS_MANAGER)
def fitment_add(request: HttpRequest, pk: int) -> HttpResponse:
    application = get_object_or_404(Application, pk=pk)
    form = ("fitment_form", FitmentForm(request.POST))
    return _submitted(request, application, form, list_part, "{made} is listed.")


@require_POST
@role_required(Role.PARTS_MANAGER)
def application_move_split(request: HttpRequest, pk: int) -> HttpResponse:
    """The border between this entry and a later one goes to another month."""
    application, form = get_object_or_404(Application, pk=pk), MoveSplitForm(request.POST)
    if form.is_valid():
        later, month = form.cleaned_data["later"], form.cleaned_data["month"]
        _said(request, "The split is moved.", move_entry_split, application, later, month=month)
    else:
        messages.error(request, "Choose the month again; this one could not be read.")
    return redirect("application_edit", pk)


@require_POST
@role_required(Role.PARTS_MANAGER)
def application_drop(request: HttpRequest, pk: int) -> HttpResponse:
    application = get_object_or_404(Application, pk=pk)
    if _said(request, f"{application} is dropped.", drop_entry, application):
        return redirect("catalog_gaps")
    return redirect("application_edit", pk)


@require_POST
@role_required(Role.PARTS_MANAGER)
def fitment_drop(request: HttpRequest, pk: int) -> HttpResponse:
    fitment = get_object_or_404(Fitment.objects.select_related("application", "part"), pk=pk)
    _said(request, f"{fitment.part} is offered here no more.", unlist_part, fitment)
    return redirect("application_edit", fitment.application_id)


@require_POST
@role_required(Role.PARTS_MANAGER)
def evidence_settle(request: HttpRequest, pk: int) -> HttpResponse:
    evidence = get_object_or_404(Evidence.objects.for_page(), pk=pk)
    words = f"{evidence.part} stays listed; job {evidence.job_key} warns no more."
    _said(request, words, settle_contradiction, evidence)
    return redirect("application_edit", evidence.application_id)


def _said(
    request: HttpRequest, words: str, action: Callable[..., Any], *of: Any, **how: Any
) -> bool:
    """Run an action that needs no form, and say what it did or why it refused."""
    try:
        action(*of, by=request.user, **how)
    except ValidationError as refusal:
        messages.error(request, refusal.messages[0])
        return False
    messages.success(request, words)
    return True
