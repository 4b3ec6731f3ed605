"""Whether this process can serve: one plain line for a proxy or a supervisor, about nobody."""

from django.contrib.auth.decorators import login_not_required
from django.db import DatabaseError, connection
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe


@login_not_required
@never_cache
@require_safe
def health(request: HttpRequest) -> HttpResponse:
    try:
        with connection.cursor() as cursor:
            cursor.execute("SELECT 1")
    except DatabaseError:
        return _line(request, "The database does not answer.", 503)
    return _line(request, "All right.", 200)


def _line(request: HttpRequest, words: str, status: int) -> HttpResponse:
    context = {"words": words}
    return render(request, "health.html", context, content_type="text/plain", status=status)
