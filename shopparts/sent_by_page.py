"""Answers to postings that the page's own script sends (`sending.js`).

A script cannot read where a redirect leads, and following it would show it a page instead of the
answer. It is told the address in a header; the header's absence tells it that something other than
the planner answered. Without the script nothing here happens.
"""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse

SENT = "X-Sent-By-Page"
LEADS_TO = "X-Leads-To"

View = Callable[[HttpRequest], HttpResponse]


def tell_where_it_leads(get_response: View) -> View:
    def answer(request: HttpRequest) -> HttpResponse:
        response = get_response(request)
        if SENT in request.headers:
            leads = response.headers.get("Location", "")
            response.headers[LEADS_TO] = leads
            if leads:
                del response.headers["Location"]
                response.status_code = 200
            if (leads or response.status_code == 403) and not request.user.is_authenticated:
                response.status_code = 401
        return response

    return answer
