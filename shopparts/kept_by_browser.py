"""What a browser may keep of a page to show it again: nothing.

A page kept for the Back button holds a key that is used up, so that the next posting from it would
be taken for the last one sent twice; and on a shared tablet it shows what the last person saw.
"""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse
from django.utils.cache import add_never_cache_headers

View = Callable[[HttpRequest], HttpResponse]


def keep_no_page(get_response: View) -> View:
    def answer(request: HttpRequest) -> HttpResponse:
        response = get_response(request)
        if not response.has_header("Cache-Control"):
            add_never_cache_headers(response)
        return response

    return answer
