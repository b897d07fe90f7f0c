"""What people see who open an address that only takes a form."""

from django.shortcuts import render

METHOD_NOT_ALLOWED = 405
LOOKING = ("GET", "HEAD")


class FormsOnlyMiddleware:
    """Puts a page in place of the empty answer; its status and what it allows stay."""

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request):
        response = self.get_response(request)
        if response.status_code != METHOD_NOT_ALLOWED or not is_opened_by_hand(request):
            return response
        page = render(request, "shared/forms_only.html", status=METHOD_NOT_ALLOWED)
        page["Allow"] = response["Allow"]
        return page


def is_opened_by_hand(request):
    """Whether somebody wants to read a page, rather than to send something."""
    return request.method in LOOKING and request.accepts("text/html")
