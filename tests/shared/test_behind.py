"""Pages while the database is older than its newest checkpoint: read, and told why not written."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from fleet.models import Report
from shared import clock
from shared.models import Checkpoint, Role, new_id
from shared.sealing import make_checkpoint, record_restore
from tests.factories import MORNING
from tests.lift_factories import a_cart, a_site, with_role
from tests.taking_back import take_back

pytestmark = pytest.mark.django_db(transaction=True)

NOW = MORNING + timedelta(days=3)
SAYS = "nothing is recorded until a manager records the restore"


@pytest.fixture
def shop(client, monkeypatch):
    """A site with a cart, signed; somebody at its desk is signed in."""
    monkeypatch.setattr(clock, "now", lambda: NOW)
    site, manager = a_site()
    client.force_login(with_role(site, manager, Role.DESK))
    cart = a_cart(site, manager)
    make_checkpoint(site, at=NOW, cause=Checkpoint.Cause.DAILY)
    return cart, manager


def get(client, cart):
    return client.get(reverse("desk-cart", args=[cart.site.slug, cart.pk]))


def send(client, cart):
    address = reverse("report-create", args=[cart.site.slug, cart.pk])
    return client.post(address, {"act": str(new_id()), "noticed": "noise"})


def lose_the_last_entry(site):
    head = Checkpoint.objects.get(site=site)
    take_back(site, head.size - 1)
    return head.size


def test_a_page_reads_as_ever_while_nothing_is_missing(shop, client):
    page = get(client, shop[0]).content.decode()

    assert SAYS not in page
    assert send(client, shop[0]).status_code == 302


def test_every_page_says_that_the_database_is_older(shop, client):
    signed = lose_the_last_entry(shop[0].site)

    response = get(client, shop[0])

    page = response.content.decode()
    assert (response.status_code, page.count(SAYS)) == (200, 1)
    ends = f"The journal ends at entry {signed - 1} of epoch 1; entry {signed} of epoch 1"
    assert f"{ends} was signed on 03/05/2026" in page


def test_what_is_sent_is_answered_kindly_and_not_recorded(shop, client):
    lose_the_last_entry(shop[0].site)

    response = send(client, shop[0])

    page = response.content.decode()
    assert (response.status_code, Report.objects.count()) == (503, 0)
    assert page.count(SAYS) == 1
    assert "<h1>Nothing was recorded</h1>" in page


def test_after_the_restore_all_is_as_before(shop, client):
    cart, manager = shop
    lose_the_last_entry(cart.site)
    record_restore(cart.site, reason="The disk died.", by=manager, at=NOW)

    assert SAYS not in get(client, cart).content.decode()
    assert send(client, cart).status_code == 302
    assert Report.objects.count() == 1


def test_a_spoilt_checkpoint_outside_is_said_too(shop, client, settings):
    cart, _manager = shop
    (settings.CHECKPOINTS / f"{cart.site_id}.txt").write_text("spoilt")

    response = send(client, cart)

    says = "The newest checkpoint kept outside the database cannot be read"
    assert says in get(client, cart).content.decode()
    assert (response.status_code, says in response.content.decode()) == (503, True)
    assert Report.objects.count() == 0


def queries_of(client, cart):
    with CaptureQueriesContext(connection) as queries:
        get(client, cart)
    return len(queries)


def test_the_banner_costs_one_query_and_none_before_the_first_checkpoint(
    shop, client, settings, tmp_path
):
    queries_of(client, shop[0])
    with_checkpoint = queries_of(client, shop[0])
    settings.CHECKPOINTS = tmp_path / "empty"

    assert queries_of(client, shop[0]) == with_checkpoint - 1
