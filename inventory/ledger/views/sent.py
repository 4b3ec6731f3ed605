"""What the views of sent forms share: the site the form was for, and where its result shows."""

from django import forms
from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse

from inventory.catalog.models import Part
from inventory.ledger.models import Posting
from inventory.shop.here import CHOSEN, site_here, sites_open
from inventory.shop.models import Bin, Site
from inventory.shop.roles import Role, holds


def site_posted(request: HttpRequest) -> Site:
    """The site the form was shown for; it becomes the one in hand, so that the result shows."""
    for site in sites_open(request):
        if str(site.pk) == request.POST.get("site"):
            request.session[CHOSEN] = site.pk
            return site
    raise Http404("No such site.")


def site_of_form(request: HttpRequest) -> Site:
    """The site a form is shown for, or was."""
    return site_posted(request) if request.method == "POST" else site_here(request)


def pk_asked(request: HttpRequest, name: str) -> int | None:
    """The key of a record that an address or a form names; None for anything else."""
    asked = request.POST if request.method == "POST" else request.GET
    text = asked.get(name, "")
    return int(text) if text.isascii() and text.isdigit() and len(text) < 19 else None


def bin_asked(request: HttpRequest, site: Site, name: str = "bin") -> Bin | None:
    pk = pk_asked(request, name)
    return Bin.objects.filter(site=site, pk=pk).first() if pk else None


def shelf_after(part: Part, posting: Posting) -> HttpResponse:
    """The shelf of a part, with what has just been posted and its undo."""
    return redirect(f"{reverse('inventory:part_shelf', args=[part.pk])}?done={posting.pk}")


def posting_to_undo(request: HttpRequest, pk: int) -> Posting:
    posting = get_object_or_404(Posting.objects.filter(movements__isnull=False).distinct(), pk=pk)
    if posting.by_id != request.user.pk and not holds(request.user, Role.PARTS_MANAGER):
        raise PermissionDenied("The parts manager undoes what another person posted.")
    return posting


def refused(request: HttpRequest, form: forms.Form, back_to: str) -> HttpResponse:
    """Back to a list whose rows are too small for their errors: these are said above it."""
    for errors in form.errors.values():
        for error in errors:
            messages.error(request, str(error))
    return redirect(back_to)
