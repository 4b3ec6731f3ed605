"""The site's addresses, and the bare page that its fit page is measured against."""

from django.http import HttpRequest, HttpResponse
from django.template import engines
from django.urls import path

from inventory.catalog.models import Application
from shopparts.urls import urlpatterns as own

_PAGE = """{% extends "base.html" %}
{% block title %}Bare{% endblock %}
{% block content %}<ul>{% for one in applications %}
<li>{{ one.make }} {{ one.model }} {{ one.trim }} {{ one.year_from }} {{ one.year_to }}</li>
{% endfor %}</ul>{% endblock %}"""


def bare(request: HttpRequest) -> HttpResponse:
    make, model = request.GET["make"], request.GET["model"]
    applications = Application.objects.filter(make=make, model=model)[:20]
    template = engines["django"].from_string(_PAGE)
    return HttpResponse(template.render({"applications": applications}, request))


urlpatterns = [*own, path("bare/", bare, name="bare")]
