"""Labels for bins and parts, as a PDF to print."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_http_methods

from inventory.ledger.forms.labels import LabelForm
from inventory.ledger.labels import labels_pdf
from inventory.shop.here import site_here


@require_http_methods(["GET", "HEAD", "POST"])
def label_print(request: HttpRequest) -> HttpResponse:
    form = LabelForm(request.POST or None, site=site_here(request))
    if form.is_bound and form.is_valid():
        pdf = labels_pdf(form.labels(), form.chosen(), used=form.cleaned_data["used"])
        return HttpResponse(
            pdf,
            content_type="application/pdf",
            headers={"Content-Disposition": 'inline; filename="labels.pdf"'},
        )
    return render(request, "inventory/label_print.html", {"form": form})
