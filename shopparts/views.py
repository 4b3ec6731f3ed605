"""Signing in and out, the site in hand, and the page each person starts from."""

from typing import Any, cast

from django.conf import settings
from django.contrib import messages
from django.contrib.auth import login, logout, update_session_auth_hash
from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from inventory.shop.here import CHOSEN, site_chosen, sites_open
from shopparts import pins
from shopparts.first_hour import first_hour_for
from shopparts.forms import LogInForm, NewPasswordForm
from shopparts.models import User
from shopparts.today import (
    own_jobs,
    owners_week,
    parts_arrived,
    posted_today,
    stock_cents,
    waiting_for,
)


def _next(request: HttpRequest) -> str:
    """Where to go on, as the address asks, if that is on this site."""
    wanted = request.POST.get("next") or request.GET.get("next") or ""
    safe = url_has_allowed_host_and_scheme(
        wanted, allowed_hosts={request.get_host()}, require_https=request.is_secure()
    )
    return wanted if safe else settings.LOGIN_REDIRECT_URL


@login_not_required
@sensitive_post_parameters("password")
@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def log_in(request: HttpRequest) -> HttpResponse:
    if request.user.is_authenticated:
        return redirect(_next(request))
    if request.headers.get("HX-Request"):
        # The session ended under a part of a page: load the whole log-in page instead.
        return HttpResponse(headers={"HX-Redirect": reverse("log_in")})
    form = LogInForm(request, request.POST or None)
    if form.is_valid():
        login(request, form.get_user())
        answer = redirect(_next(request))
        pins.remember(request, answer, form.get_user())
        return answer
    context = {
        "form": form,
        "next": request.GET.get("next", ""),
        "may_switch": pins.COOKIE in request.COOKIES,
    }
    return render(request, "log_in.html", context)


@login_not_required
@require_POST
def log_out(request: HttpRequest) -> HttpResponse:
    logout(request)
    return redirect(settings.LOGOUT_REDIRECT_URL)


@sensitive_post_parameters()
@require_http_methods(["GET", "HEAD", "POST"])
def change_password(request: HttpRequest) -> HttpResponse:
    form = NewPasswordForm(cast(User, request.user), request.POST or None)
    if form.is_valid():
        update_session_auth_hash(request, form.save())
        messages.success(request, "Your password is changed; use the new one from now on.")
        return redirect("today")
    return render(request, "change_password.html", {"form": form})


@require_POST
def switch_site(request: HttpRequest) -> HttpResponse:
    chosen = [site.pk for site in sites_open(request) if str(site.pk) == request.POST.get("site")]
    if not chosen:
        raise Http404("No such site.")
    request.session[CHOSEN] = chosen[0]
    return redirect(_next(request))


@require_safe
def today(request: HttpRequest) -> HttpResponse:
    user = cast(User, request.user)
    context: dict[str, Any] = {"hour": first_hour_for(request)}
    if site := site_chosen(request):
        context |= {
            "waiting": waiting_for(user, site),
            "jobs": own_jobs(user, site),
            "arrived": parts_arrived(site),
            "posted": posted_today(user, site),
        }
        if user.is_owner:
            context |= {"stock_cents": stock_cents(), "money": owners_week(site.today())}
    return render(request, "today.html", context)
