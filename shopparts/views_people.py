"""People, for the owner: who may sign in, as what; and the log of what was changed by whom."""

from typing import Any, cast

from django.contrib import messages
from django.contrib.auth import login
from django.contrib.auth.decorators import login_not_required
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from inventory.shop.models import Change
from inventory.shop.roles import Role, role_required
from shopparts.changes import GROUPS, change_lines
from shopparts.models import User
from shopparts.people import (
    InviteForm,
    JoinForm,
    PersonChangeForm,
    change_person,
    invite_person,
    join_path,
    people,
    person_joining,
)

LINES_A_PAGE = 50


@require_http_methods(["GET", "HEAD", "POST"])
@role_required(Role.OWNER)
def person_list(request: HttpRequest) -> HttpResponse:
    form = InviteForm(request.POST or None)
    if form.is_valid() and (person := _invited(form, request.user)):
        _tell_address(request, person)
        return redirect("person_detail", person.pk)
    return render(request, "person_list.html", {"people": people(), "form": form})


def _invited(form: InviteForm, by: Any) -> User | None:
    return form.submit(invite_person, by=by, **form.cleaned_data)


def _tell_address(request: HttpRequest, person: User) -> None:
    address = request.build_absolute_uri(join_path(person))
    messages.success(
        request,
        f"Give {person} this address; it works once, for three days: {address}",
    )


@require_http_methods(["GET", "HEAD", "POST"])
@role_required(Role.OWNER)
def person_detail(request: HttpRequest, pk: int) -> HttpResponse:
    person = get_object_or_404(User, pk=pk)
    initial = {name: getattr(person, name) for name in PersonChangeForm.base_fields}
    form = PersonChangeForm(request.POST or None, initial=initial)
    if form.is_valid() and _changed(form, person, request.user):
        messages.success(request, "Saved.")
        return redirect("person_list")
    log = Change.objects.of(person).select_related("by")[:LINES_A_PAGE]
    context = {"person": person, "form": form, "lines": change_lines(list(log))}
    return render(request, "person_detail.html", context)


def _changed(form: PersonChangeForm, person: User, by: Any) -> User | None:
    return form.submit(change_person, person, by=by, **form.cleaned_data)


@require_POST
@role_required(Role.OWNER)
def person_address(request: HttpRequest, pk: int) -> HttpResponse:
    """A new address for somebody who lost theirs, or their password."""
    person = get_object_or_404(User, pk=pk)
    if person.is_active:
        _tell_address(request, person)
    else:
        messages.error(request, f"{person} may not sign in; tick that first, then save.")
    return redirect("person_detail", person.pk)


@login_not_required
@sensitive_post_parameters()
@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def join(request: HttpRequest, pk: int, token: str) -> HttpResponse:
    person = person_joining(pk, token)
    if person is None:
        return render(request, "join.html", {"form": None}, status=404)
    form = JoinForm(person, request.POST or None)
    if form.is_valid():
        joined = cast(User, form.save())
        login(request, joined, backend="django.contrib.auth.backends.ModelBackend")
        return redirect("today")
    return render(request, "join.html", {"form": form, "person": person})


@require_safe
@role_required(Role.OWNER)
def change_list(request: HttpRequest) -> HttpResponse:
    show = request.GET.get("show", "")
    found = Change.objects.select_related("by")
    if kinds := GROUPS.get(show):
        found = found.filter(kind__in=kinds)
    page = Paginator(found, LINES_A_PAGE).get_page(request.GET.get("page"))
    context = {"page": page, "lines": change_lines(list(page)), "show": show, "groups": GROUPS}
    return render(request, "change_list.html", context)
