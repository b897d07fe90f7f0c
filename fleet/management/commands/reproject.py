"""Make the rows of carts and rechecks anew from the facts, or check that they need not be."""

from uuid import UUID

from django.core.management.base import BaseCommand, CommandError
from django.utils.translation import gettext as _

from fleet.actions import project
from fleet.models import Cart
from shared.models import Change, Entry, Site


class Command(BaseCommand):
    help = "Make the rows of carts and rechecks anew from the facts; --check only compares."

    def add_arguments(self, parser):
        parser.add_argument("--site", metavar="SLUG", help="one site alone")
        parser.add_argument(
            "--check",
            action="store_true",
            help="change nothing; fail if a row is not as it should be",
        )

    def handle(self, *args, site, check, **options):
        self.check = check
        carts = rows = 0
        for some in batches(site):
            carts += len(some)
            rows += self.looked_at(some)
        said = {"carts": carts, "rows": rows}
        if check and rows:
            raise CommandError(_("%(rows)s rows differ from the facts") % said)
        if check:
            return self.stdout.write(_("%(carts)s carts, no differences") % said)
        self.stdout.write(_("%(carts)s carts, %(rows)s rows changed") % said)

    def looked_at(self, ids):
        """Make the rows of some carts anew, or say which differ; return how many those are."""
        if not self.check:
            return project.at_once(ids)
        found = project.differences(ids)
        for line in found:
            self.stdout.write(line)
        return len(found)


def batches(slug):
    """Yield the ids of the carts with a row or an entry, of one site or of all, few at a time."""
    if not slug:
        return _by_key(Cart.objects.all(), _told())
    site = Site.objects.filter(slug=slug).first()
    if site is None:
        raise CommandError(_("There is no site %(slug)s.") % {"slug": slug})
    rows = Cart.objects.filter(site=site).values_list("pk", flat=True)
    ids = sorted({*rows, *_told().filter(site=site).values_list("cart_id", flat=True)})
    step = project.BATCH_CARTS
    return (ids[start : start + step] for start in range(0, len(ids), step))


def _told():
    return Entry.objects.filter(kind=Change.kind(), cart_id__isnull=False).order_by()


def _by_key(rows, told):
    """Yield the ids of a whole fleet in order, never all at once."""
    after, most = UUID(int=0), project.BATCH_CARTS
    told = told.order_by("cart_id").values_list("cart_id", flat=True).distinct()
    rows = rows.order_by("pk").values_list("pk", flat=True)
    while found := {*rows.filter(pk__gt=after)[:most], *told.filter(cart_id__gt=after)[:most]}:
        # none is left out, whichever of the two has it
        some = sorted(found)[:most]
        yield some
        after = some[-1]
