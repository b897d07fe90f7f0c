"""A page as one person asks for it, and a view that only runs the same statements."""

from django.db import connection
from django.http import HttpResponse
from django.test import Client
from django.test.client import ClientHandler
from django.urls import ResolverMatch

from deploy.bench.pairs import Pair

OK = 200


def against_raw(name, about, at_most, person, url, times) -> Pair:
    """Return the line of a page, all of its request, against its statements alone."""
    page = Page(person, url)
    raw = RawPage(page)
    return Pair(name, about, at_most, _often(raw.get, times), _often(page.get, times))


def _often(act, times):
    def acts():
        for _ in range(times):
            act()

    return acts


class Page:
    """One address, asked for by a person who is signed in."""

    def __init__(self, person, url):
        self.person, self.url = person, url
        self.client = Client(SERVER_NAME="localhost")
        self.client.force_login(person)

    def get(self):
        response = self.client.get(self.url)
        if response.status_code != OK:
            raise RuntimeError(f"{self.url} answered {response.status_code}")
        return response

    def statements(self):
        """Return the (SQL, values) that one request runs, once all that is kept is kept."""
        self.get()
        return recorded(self.get)


class RawPage(Page):
    """A view behind the same middleware: a page's statements, the values fetched as text."""

    def __init__(self, page):
        super().__init__(page.person, page.url)
        self.own = []
        self.client.handler = RawHandler(self.answer)
        by_middleware = {statement for statement, _values in self.statements()}
        self.own = [one for one in page.statements() if one[0] not in by_middleware]

    def answer(self, request):
        lines = []
        with connection.cursor() as cursor:
            for statement, values in self.own:
                cursor.execute(statement, values)
                lines += [", ".join(map(str, row)) for row in cursor.fetchall()]
        return HttpResponse("\n".join(lines))


class RawHandler(ClientHandler):
    """Answers every address by one view."""

    def __init__(self, view):
        super().__init__(enforce_csrf_checks=False)
        self.view = view

    def resolve_request(self, request):
        request.resolver_match = ResolverMatch(self.view, (), {}, url_name="raw")
        return request.resolver_match


def recorded(act) -> list[tuple]:
    """Return the (SQL, values) of each statement that an act runs."""
    found = []

    def record(execute, statement, values, many, context):
        found.append((statement, values))
        return execute(statement, values, many, context)

    with connection.execute_wrapper(record):
        act()
    return found
