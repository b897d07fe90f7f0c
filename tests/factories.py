"""Test data: the least that is valid, with fixed values; what a test is about stands in it."""

from datetime import UTC, date, datetime
from uuid import uuid4

import factory
from factory.django import DjangoModelFactory

from fleet.models import Cart, Recheck
from shared.models import Membership, Person, Role, Site

MORNING = datetime(2026, 3, 2, 13, 0, tzinfo=UTC)


class SiteFactory(DjangoModelFactory):
    class Meta:
        model = Site

    slug = factory.Sequence("site-{}".format)
    name = factory.Sequence("Site {}".format)
    zone = "America/New_York"


class PersonFactory(DjangoModelFactory):
    class Meta:
        model = Person
        skip_postgeneration_save = True

    email = factory.Sequence("person{}@example.org".format)
    name = factory.Sequence("Person {}".format)


class MembershipFactory(DjangoModelFactory):
    class Meta:
        model = Membership

    site = factory.SubFactory(SiteFactory)
    person = factory.SubFactory(PersonFactory)
    role = Role.MANAGER
    from_day = date(2025, 1, 1)


class CartFactory(DjangoModelFactory):
    """A cart's row alone, with no facts behind it: enough where nothing is re-projected."""

    class Meta:
        model = Cart

    site = factory.SubFactory(SiteFactory)
    number = factory.Sequence("{:03d}".format)
    joined_on = date(2025, 1, 1)


class RecheckFactory(DjangoModelFactory):
    """A recheck's row alone, with no facts behind it."""

    class Meta:
        model = Recheck

    id = factory.LazyFunction(uuid4)
    cart = factory.SubFactory(CartFactory)
    site = factory.SelfAttribute("cart.site")
    rule_code = "joint-round"
    kind_code = "joint-round"
    anchor_id = factory.LazyFunction(uuid4)
    anchor_on = date(2026, 1, 5)
