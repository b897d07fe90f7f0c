"""What is told of the camber and toe of kits."""

from django.db import transaction

from alignment.models import AlignmentSpec
from alignment.specs import CAMBER, TOE
from fleet.standing import EVERYTHING
from shared.facts import lock_sites, record
from shared.models import Site, new_id


class ToeOut(ValueError):
    """Toe-out is never inside, whatever is told."""


class Crossed(ValueError):
    """Of a pair of limits one was left out, or nothing lies between them."""


class NoReason(ValueError):
    """Figures told before were changed without saying why."""


@transaction.atomic
def save_spec(site: Site, kit_code: str, values: dict, *, by, at, id=None) -> AlignmentSpec:
    """Record the whole of what is told of a kit, or with "" of the site; it stands from now on.

    ``id`` makes a second sending of the same act the first one again. Raises ToeOut, Crossed,
    NoReason when figures were told before and the note is empty, shared.facts.OtherBody.
    """
    lock_sites(site.pk)
    spec = AlignmentSpec(id=id or new_id(), site=site, kit_code=kit_code, by=by, **values)
    _refuse_what_cannot_hold(spec)
    told = AlignmentSpec.objects.standing(EVERYTHING.known_by).filter(site=site, kit_code=kit_code)
    if not spec.note.strip() and told.exclude(pk=spec.pk).exists():
        raise NoReason(kit_code)
    return record(spec, at=at).fact


def _refuse_what_cannot_hold(spec):
    for names in (CAMBER, TOE):
        low, high = (getattr(spec, name) for name in names)
        if (low is None) != (high is None) or (low is not None and low >= high):
            raise Crossed(names)
    if spec.toe_low_mm is not None and spec.toe_low_mm < 0:
        raise ToeOut(spec.toe_low_mm)
