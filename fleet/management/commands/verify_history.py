"""Look whether the history is what was recorded and signed; name the first entry that is not."""

from itertools import islice
from pathlib import Path

from django.core.management.base import BaseCommand, CommandError
from django.utils.translation import gettext as _

from fleet import told_rows
from fleet.actions import project
from fleet.management.commands.reproject import batches
from shared import checkpoint, outside, verifying
from shared.keys import KeyUnusable
from shared.models import Checkpoint, Entry, JournalHead, Restore, Site
from shared.verifying import Fault

MOST_SHOWN = 50


class Command(BaseCommand):
    help = "Compare stored bytes, checkpoints and rows; fail and name the first bad entry."

    def add_arguments(self, parser):
        parser.add_argument("--site", metavar="SLUG", help="one site alone")
        parser.add_argument(
            "--checkpoint",
            metavar="FILE",
            action="append",
            default=[],
            help="checkpoints that were kept elsewhere, such as a mail",
        )

    def handle(self, *args, site, **options):
        sites = list(Site.objects.filter(slug=site) if site else Site.objects.all())
        if site and not sites:
            raise CommandError(_("There is no site %(slug)s.") % {"slug": site})
        given = self.read_all_given(options["checkpoint"])
        refuse_foreign(given, sites)
        bad = [one.slug for one in sites if not self.verify(one, given)]
        if bad:
            raise CommandError(_("The history is not as recorded at: %s") % ", ".join(bad))

    def read_all_given(self, names):
        """Return the checkpoints in files; name a file that holds none, where another does."""
        found = {name: read_given(name) for name in names}
        empty = [_("%(name)s holds no checkpoint.") % {"name": n} for n in names if not found[n]]
        if empty and not any(found.values()):
            raise CommandError(empty[0])
        for line in empty:
            self.stdout.write(line)
        return [one for some in found.values() for one in some]

    def verify(self, site, given):
        """Print what is wrong at a site; return whether nothing is."""
        own = [one for one in given if one.site == site.pk]
        try:
            faults = list(islice(verifying.byte_faults(site, own), MOST_SHOWN))
        except (KeyUnusable, outside.OutsideSpoilt) as trouble:
            raise CommandError(str(trouble)) from trouble
        faults += islice(verifying.row_faults(site), MOST_SHOWN)
        faults += islice(register_faults(site), MOST_SHOWN)
        faults += islice(projected_faults(site), MOST_SHOWN)
        restores = list(Restore.objects.filter(site=site))
        cut_off = [(one, cut) for one in own if (cut := verifying.cut_off_by(one, restores))]
        for line in [*map(said_of, restores), *(said_of_cut_off(*pair) for pair in cut_off)]:
            self.stdout.write(f"{site.slug}: {line}")
        if not faults:
            self.stdout.write(f"{site.slug}: {size_of(site, len(own) - len(cut_off))}")
            return True
        first = verifying.first_fault(faults)
        for fault in sorted(faults, key=lambda fault: fault is not first):
            self.stdout.write(f"{site.slug}: {fault}")
        return False


def register_faults(site):
    """Yield where rows of the register are not as the changes in the journal say."""
    for change_id, what in told_rows.differences(site):
        entry = Entry.objects.filter(fact_id=change_id).first() if change_id else None
        yield Fault(entry and entry.seq, what)


def projected_faults(site):
    """Yield where rows of carts and rechecks, which lists read, are not as the facts say."""
    for some in batches(site.slug):
        # what is recorded meanwhile may differ once
        for line in project.differences(some) and project.differences(some):
            yield Fault(None, line)


def read_given(name):
    try:
        return checkpoint.read_all(Path(name).read_text("utf-8", "replace"))
    except OSError as error:
        raise CommandError(f"{name}: {error.strerror}") from error
    except checkpoint.NoCheckpoint as error:
        raise CommandError(f"{name}: {error}") from error


def refuse_foreign(given, sites):
    """Raise CommandError where a checkpoint that was given would be held against nothing."""
    known = set(Site.objects.values_list("pk", flat=True))
    looked_at = {site.pk for site in sites}
    foreign = [one.site for one in given if one.site not in known]
    if given and not any(one.site in looked_at for one in given):
        foreign = [one.site for one in given]
    if foreign:
        said = _("A checkpoint that was given is of site %s, which is not looked at here.")
        raise CommandError(said % foreign[0])


def said_of(restore):
    return _("a restore opened epoch %(epoch)s: entries %(first)s to %(last)s are missing") % {
        "epoch": restore.epoch,
        "first": restore.missing_from,
        "last": restore.missing_to,
    }


def said_of_cut_off(statement, restore):
    words = _("%(given)s was given: the restore that opened epoch %(epoch)s cut it off")
    return words % {"given": verifying.named(statement), "epoch": restore.epoch}


def size_of(site, given):
    """Say how much agrees; ``given`` is how many checkpoints kept elsewhere were compared."""
    head = JournalHead.objects.filter(site=site).first() or JournalHead(site=site)
    signed = Checkpoint.objects.filter(site=site).count()
    words = _("%(entries)s entries in epoch %(epoch)s, %(signed)s checkpoints: nothing differs")
    if given:
        words = _(
            "%(entries)s entries in epoch %(epoch)s, %(signed)s checkpoints and %(given)s given: "
            "nothing differs"
        )
    said = {"entries": head.size, "epoch": head.epoch, "signed": signed, "given": given}
    return words % said + ("" if given or outside.newest(site.pk) else nothing_outside())


def nothing_outside():
    return _(
        ", but nothing outside was there to compare with: "
        "put a copy of the folder of FLEET_CHECKPOINTS back, or give --checkpoint FILE"
    )
