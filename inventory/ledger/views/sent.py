"""What the views of sent forms share: the site the form was for, and where its result shows."""

from django import forms
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse

from inventory.catalog.models import Part
from inventory.ledger.models import Posting
from inventory.shop.here import CHOSEN, site_here, sites_open
from inventory.shop.models import Site


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


def shelf_after(part: Part, posting: Posting) -> HttpResponse:
    """The shelf of a part, with what has just been posted and its undo."""
    return redirect(f"{reverse('inventory:part_shelf', args=[part.pk])}?done={posting.pk}")


def refused(request: HttpRequest, form: forms.Form, back_to: str) -> HttpResponse:
    """Back to a list whose rows are too small for their errors: these are said above it."""
    for errors in form.errors.values():
        for error in errors:
            messages.error(request, str(error))
    return redirect(back_to)
