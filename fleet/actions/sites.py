"""Changes of a site: its founding, its people's roles, its rule book, its start day."""

from django.db import transaction

from fleet.actions import meters, project
from fleet.default_rules import book_to_json, default_book
from fleet.lateness import arrival_of
from fleet.models import CartNumber, RuleBook
from shared.facts import lock_sites, record
from shared.models import Change, Membership, Person, Role, Site

SITE_FIELDS = (
    "slug",
    "name",
    "zone",
    "units",
    "date_order",
    "working_days",
    "closures",
    "digest_hour",
    "mechanic_minutes_a_day",
)


@transaction.atomic
def found_site(values, manager, *, at, password=None):
    """Begin a site with its first manager and the default rule book.

    ``manager`` is a Person, saved here when new.
    """
    site = Site.objects.create(**values)
    manager.home_site = manager.home_site or site
    if password is not None:
        manager.set_password(password)
    manager.save()
    _record_site(site, by=manager, at=at)
    give_role(site, manager, Role.MANAGER, site.day(at), None, by=manager, at=at)
    change_rules(site, book_to_json(default_book()), reason="Default rules", by=manager, at=at)
    return site


@transaction.atomic
def change_site(site, values, *, by, at):
    """Change what a site says of itself; meters keep the unit in which they were read."""
    lock_sites(site.pk)
    changed = {name for name, value in values.items() if value != getattr(site, name)}
    cart_ids = _carts_of(site) if changed & {"zone", "units"} else []
    if "units" in changed:
        meters.name_units(cart_ids, by=by, at=at)
    for name, value in values.items():
        setattr(site, name, value)
    site.save(update_fields=list(values))
    change = _record_site(site, by=by, at=at)
    project.carts(cart_ids)
    return change


def _carts_of(site):
    """Return every cart that is or was at the site."""
    been = CartNumber.objects.filter(site=site).values_list("cart_id", flat=True)
    return sorted(set(been))


def _record_site(site, *, by, at):
    said = {name: getattr(site, name) for name in SITE_FIELDS}
    said["start_day"] = site.start_day and site.start_day.isoformat()
    return record(_change(site, "site", said, by=by, at=at), at=at).fact


@transaction.atomic
def add_person(email, name, home_site, *, password=None):
    """Add someone who may be given roles; the same address again is the same person."""
    person = Person.objects.filter(email__iexact=email).first()
    if person is None:
        person = Person(email=email.lower(), name=name, home_site=home_site)
        person.set_password(password)
        person.save()
    return person


@transaction.atomic
def give_role(site, person, role, from_day, to_day, *, by, at, may_release=False, is_above=False):
    """Give a person a role at a site from a day to a day, in place of the one before."""
    lock_sites(site.pk)
    said = {
        "role": str(role),
        "from_day": from_day.isoformat(),
        "to_day": to_day and to_day.isoformat(),
        "may_release": may_release,
        "is_above": is_above,
    }
    record(_change(site, "role", said, by=by, at=at, person=person), at=at)
    row, _ = Membership.objects.update_or_create(
        site=site,
        person=person,
        defaults={
            "role": role,
            "from_day": from_day,
            "to_day": to_day,
            "may_release": may_release,
            "is_above": is_above,
        },
    )
    return row


class BookMoved(Exception):
    """Somebody changed the rule book in between."""


@transaction.atomic
def change_rules(site, rules, *, reason, by, at, after=None):
    """Put a rule book in force from now on: clocks that run keep the one they began under.

    Carts are re-projected, since work that it newly asks for begins with it.
    ``after`` is the version it was made from; raises BookMoved if another has come since.
    """
    lock_sites(site.pk)
    if after is not None and RuleBook.objects.filter(site=site).count() != after:
        raise BookMoved(site)
    change = record(_change(site, "rule book", rules, by=by, at=at, reason=reason), at=at).fact
    book = RuleBook.objects.create(
        id=change.pk,
        site=site,
        version=RuleBook.objects.filter(site=site).count() + 1,
        in_force_from=arrival_of(change),
        rules=rules,
        reason=reason,
    )
    project.carts(_carts_of(site))
    return book


def _change(site, what, value, *, by, at, **more):
    return Change(site=site, what=what, value=value, by=by, **more)
