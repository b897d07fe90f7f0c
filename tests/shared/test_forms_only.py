"""An address that only takes a form, opened by itself."""

import pytest
from django.urls import reverse

from tests.factories import PersonFactory
from tests.lift_factories import a_site

pytestmark = pytest.mark.django_db


@pytest.fixture
def dropping(client):
    site, manager = a_site("harbour")
    client.force_login(manager)
    return reverse("rule-drop", args=[site.slug, 1, 0]), site


def test_an_address_that_takes_a_form_says_so_and_leads_back(client, dropping):
    url, site = dropping

    answer = client.get(url)

    assert (answer.status_code, answer["Allow"]) == (405, "POST")
    page = answer.content.decode()
    assert "only takes a form" in page
    assert f'<a href="{reverse("site-home", args=[site.slug])}">Go to the first page of' in page


def test_where_no_site_is_known_it_leads_to_the_start(client):
    client.force_login(PersonFactory())

    page = client.get(reverse("sign-out")).content.decode()

    assert '<a href="/">Go to your first page</a>' in page


def test_what_asks_for_no_page_gets_none(client, dropping):
    answer = client.get(dropping[0], headers={"accept": "application/json"})

    assert (answer.status_code, answer["Allow"], answer.content) == (405, "POST", b"")


def test_what_is_sent_to_a_page_is_refused_as_before(client, dropping):
    answer = client.post(reverse("board", args=[dropping[1].slug]))

    assert (answer.status_code, answer.content) == (405, b"")
