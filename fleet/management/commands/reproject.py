"""Make the rows of carts and rechecks anew from the facts, or check that they need not be."""

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
        ids = cart_ids(site)
        if check:
            return self.compare(ids)
        changed = project.carts(ids)
        self.stdout.write(
            _("%(carts)s carts, %(rows)s rows changed")
            % {
                "carts": len(ids),
                "rows": changed,
            }
        )

    def compare(self, ids):
        found = [line for some in batches(ids) for line in project.differences(some)]
        for line in found:
            self.stdout.write(line)
        if found:
            raise CommandError(_("%(count)s rows differ from the facts") % {"count": len(found)})
        self.stdout.write(_("%(carts)s carts, no differences") % {"carts": len(ids)})


def cart_ids(slug):
    """Return the carts that have a row or a fact, of one site or of all."""
    rows = Cart.objects.all()
    told = Entry.objects.filter(kind=Change.kind(), cart_id__isnull=False)
    if slug:
        site = Site.objects.filter(slug=slug).first()
        if site is None:
            raise CommandError(_("There is no site %(slug)s.") % {"slug": slug})
        rows, told = rows.filter(site=site), told.filter(site=site)
    return sorted({*rows.values_list("pk", flat=True), *told.values_list("cart_id", flat=True)})


def batches(ids):
    step = project.BATCH_CARTS
    return [ids[start : start + step] for start in range(0, len(ids), step)]
