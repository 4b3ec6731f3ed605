"""A code nobody knows yet, linked to the part it was found on."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_http_methods

from inventory.catalog.actions.codes import link_code
from inventory.catalog.names import parts_known_as
from inventory.ledger.forms.scan import LinkForm
from inventory.shop.roles import Role, role_required


@require_http_methods(["GET", "HEAD", "POST"])
@role_required(Role.PARTS_MANAGER)
def code_link(request: HttpRequest) -> HttpResponse:
    code, q = request.GET.get("code", "")[:60], request.GET.get("q", "")[:200]
    found = parts_known_as(q) if q else []
    form = LinkForm(request.POST or None, found=found, initial={"code": code})
    if form.is_bound and form.is_valid():
        said = form.cleaned_data
        link = form.submit(
            link_code, said["part"], code=said["code"], kind=said["kind"], by=request.user
        )
        if link:
            messages.success(request, f"{said['part']} is now known by “{link}”.")
            return redirect(_next(request))
    shown = {"code": code, "q": q, "found": found, "form": form, "next": _next(request)}
    return render(request, "inventory/code_link.html", shown)


def _next(request: HttpRequest) -> str:
    """The page that the code was scanned on, if it is one of ours."""
    asked = request.GET.get("next", "")
    ours = url_has_allowed_host_and_scheme(asked, {request.get_host()}, request.is_secure())
    return asked if ours else reverse("inventory:scan_issue")
