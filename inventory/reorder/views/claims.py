"""Pages of claims: what failed, what goes back to whom by when, and what each supplier answered."""

from itertools import groupby

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from inventory.reorder.actions import claims
from inventory.reorder.forms.claims import AnswerForm, NewClaimForm, SendClaimsForm
from inventory.reorder.models import Claim, ClaimStatus, DeliveryLine
from inventory.shop.here import site_here
from inventory.shop.models import ShopSettings
from inventory.shop.roles import Role, role_required

CLAIMS_A_PAGE = 100


@require_safe
@role_required(Role.PARTS_MANAGER)
def claim_list(request: HttpRequest) -> HttpResponse:
    return _claims_page(request, SendClaimsForm())


def _claims_page(request: HttpRequest, form: SendClaimsForm) -> HttpResponse:
    asked = request.GET.get("show", "")
    show = ClaimStatus(asked) if asked in ClaimStatus.values else ClaimStatus.OPEN
    found = Claim.objects.shown(show).for_claim_list()
    page = Paginator(found, CLAIMS_A_PAGE).get_page(request.GET.get("page"))
    # The sort keeps the order of urgency within each supplier.
    listed = sorted(page, key=lambda claim: claim.supplier.name)
    context = {
        "page": page,
        "show": show.value,
        "shown": ClaimStatus.choices,
        "by_supplier": [
            (supplier, list(group))
            for supplier, group in groupby(listed, key=lambda claim: claim.supplier)
        ],
        "to_send": Claim.objects.to_send().count(),
        "first": Claim.objects.to_send().exclude(claim_by=None).first(),
        "today": site_here(request).today(),
        "form": form,
    }
    return render(request, "inventory/claim_list.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@role_required(Role.PARTS_MANAGER)
def claim_new(request: HttpRequest) -> HttpResponse:
    site = site_here(request)
    form = NewClaimForm(request.POST or None, initial={"failed_on": site.today()})
    claim = None
    if form.is_valid():
        claim = form.submit(claims.claim_by_hand, site=site, by=request.user, **form.cleaned_data)
    if claim:
        messages.success(request, f"{claim.part} is on the claim shelf of {site}.")
        return redirect("inventory:claim_detail", claim.pk)
    return render(request, "inventory/claim_new.html", {"form": form})


@require_POST
@role_required(Role.PARTS_MANAGER)
def claim_send(request: HttpRequest) -> HttpResponse:
    """Mark the ticked claims as sent today."""
    form, sent = SendClaimsForm(request.POST), None
    if form.is_valid():
        sent = form.submit(
            claims.send_claims,
            list(form.cleaned_data["claims"]),
            on=site_here(request).today(),
            by=request.user,
        )
    if sent:
        words = "1 claim is" if len(sent) == 1 else f"{len(sent)} claims are"
        messages.success(request, f"{words} marked as sent, and off the claim shelf.")
        return redirect("inventory:claim_list")
    return _claims_page(request, form)


def _claim(pk: int) -> Claim:
    claims_read = Claim.objects.select_related("part", "supplier", "lot__shelf", "by")
    return get_object_or_404(claims_read, pk=pk)


def _claim_page(request: HttpRequest, claim: Claim, form: AnswerForm) -> HttpResponse:
    context = {
        "shop": form.shop,
        "claim": claim,
        "answer_form": form,
        "waiting": claims.waiting_lots(claim).first(),
        "came_with": DeliveryLine.objects.that_brought(claim.lot) if claim.lot else None,
        "today": site_here(request).today(),
    }
    return render(request, "inventory/claim_detail.html", context)


@require_safe
@role_required(Role.PARTS_MANAGER)
def claim_detail(request: HttpRequest, pk: int) -> HttpResponse:
    form = AnswerForm(ShopSettings.load(), initial={"on": site_here(request).today()})
    return _claim_page(request, _claim(pk), form)


@require_POST
@role_required(Role.PARTS_MANAGER)
def claim_answer(request: HttpRequest, pk: int) -> HttpResponse:
    claim, form = _claim(pk), AnswerForm(ShopSettings.load(), request.POST)
    settled = None
    if form.is_valid():
        settled = form.submit(claims.settle_claim, claim, by=request.user, **form.settled())
    if settled:
        messages.success(request, f"The claim for {claim.part} is settled.")
        return redirect("inventory:claim_detail", pk)
    return _claim_page(request, claim, form)


@require_POST
@role_required(Role.PARTS_MANAGER)
def claim_scrap(request: HttpRequest, pk: int) -> HttpResponse:
    try:
        claim = claims.scrap_claimed(_claim(pk), by=request.user)
        messages.success(request, f"The failed {claim.part} is off the claim shelf.")
    except ValidationError as refusal:
        messages.error(request, refusal.messages[0])
    return redirect("inventory:claim_detail", pk)
