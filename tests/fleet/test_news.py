"""At which sites notices are looked for: wherever a fact of another's journal bears on too."""

from datetime import timedelta

import pytest

from fleet.actions import news, notice_rows, notices, register
from fleet.actions.sites import change_site
from fleet.models import Cart, Note, Notice
from fleet.reminding import site_days
from lifts.actions import fit
from shared.facts import CLOCKS_DIFFER, record
from shared.models import JournalHead, Site
from tests.factories import MORNING, RecheckFactory
from tests.lift_factories import a_cart, a_kit, a_site

pytestmark = [pytest.mark.django_db, pytest.mark.both]
MINUTE = timedelta(minutes=1)
# within the hour, at which each site is looked at again whatever is known
LATER = MORNING + 10 * MINUTE


@pytest.fixture
def moved():
    """A lifted cart that went from one site to another; nothing is unseen of either."""
    here, manager = a_site("alder")
    there, _manager = a_site("birch")
    cart = a_cart(here, manager)
    fit(cart, a_kit(here, manager), by=manager, at=MORNING)
    register.move_cart(cart, there, by=manager, at=MORNING)
    news.forget()
    look()
    assert unseen() == set()
    return Cart.objects.get(pk=cart.pk), here, manager


def unseen(at=LATER):
    days = site_days(at)
    return {days[pk].site.slug for pk in news.unseen(days, at=at)}


def look(at=LATER):
    return notices.make(site_days(at), at=at)


def test_a_fact_of_its_earlier_journal_has_a_carts_new_site_looked_at(moved):
    cart, here, manager = moved

    record(Note(site=here, cart=cart, text="Left mirror", by=manager), at=MORNING)

    assert unseen() == {"alder", "birch"}


def test_such_a_site_is_looked_at_again_where_the_look_failed(moved, monkeypatch):
    cart, here, manager = moved
    record(Note(site=here, cart=cart, text="Left mirror", by=manager), at=MORNING)
    today = MORNING.date()
    recheck = RecheckFactory(cart=cart, site=cart.site, opens_on=today, due_on=today)
    with monkeypatch.context() as broken:
        broken.setattr(notice_rows, "keep", _fails_at("birch", notice_rows.keep))
        broken.setattr(notice_rows, "keep_crossed", lambda here, at: 0)
        look()

    look()

    assert [notice.stage for notice in Notice.objects.filter(about=recheck.pk)] == ["due"]


def _fails_at(slug, keep):
    def kept(lacks, site, *, at):
        if site.slug == slug:
            raise RuntimeError
        return keep(lacks, site, at=at)

    return kept


def test_a_site_in_another_zone_has_its_moved_carts_looked_at(moved):
    _cart, here, manager = moved

    change_site(Site.objects.get(pk=here.pk), {"zone": "Asia/Tokyo"}, by=manager, at=MORNING)

    assert unseen() == {"alder", "birch"}


def test_a_site_is_looked_at_again_while_a_fact_may_count_only_later(moved):
    cart, here, manager = moved
    ahead = LATER + CLOCKS_DIFFER
    record(Note(site=here, cart=cart, text="Left mirror", by=manager), at=LATER)

    look(ahead - MINUTE)
    assert "alder" in unseen(ahead - MINUTE)

    look(ahead)
    assert unseen(ahead) == set()


@pytest.mark.usefixtures("moved")
def test_each_site_is_looked_at_on_each_of_its_days(monkeypatch):
    monkeypatch.setattr(news, "_hour", lambda site_id, at: 0)
    look()

    assert unseen(LATER + timedelta(days=1)) == {"alder", "birch"}


def test_a_site_whose_journal_was_restored_is_looked_at(moved):
    _cart, here, _manager = moved

    JournalHead.objects.filter(site=here).update(epoch=2)

    assert unseen() == {"alder"}
