"""The very first site and manager of an installation."""

from uuid import NAMESPACE_URL, uuid5

from django.db import IntegrityError, transaction

from fleet.actions.sites import found_site
from shared.models import Person

# one id, so that of two who come first at once the database lets in one
FIRST_PERSON = uuid5(NAMESPACE_URL, "first-person")


class AlreadyBegun(Exception):
    """There is somebody already."""


def begin(site_values, *, name, email, password, at):
    """Found the first site with its first manager; return both.

    Raises AlreadyBegun where there is anybody, also when two come at once.
    """
    manager = Person(pk=FIRST_PERSON, name=name, email=email.lower())
    try:
        with transaction.atomic():
            if Person.objects.exists():
                raise AlreadyBegun
            site = found_site(site_values, manager, at=at, password=password)
    except IntegrityError as error:
        if Person.objects.exists():
            raise AlreadyBegun from error
        raise
    return site, manager
