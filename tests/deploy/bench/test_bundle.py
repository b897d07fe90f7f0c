"""The bundle's memory does not grow with the site, nor do its queries with the journal."""

from datetime import date

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from deploy.bench.child import peak_mib
from deploy.bench.lines.bundle import AT, TABLES
from fleet.bundle.journal import PAGE_ENTRIES, write_entries
from fleet.bundle.scope import Scope
from fleet.kinds import Cut
from shared.models import Checkpoint, JournalHead
from shared.sealing import tree_of

pytestmark = pytest.mark.services


def test_three_times_the_carts_take_no_more_memory(fleets):
    with fleets.at("10k"):
        site = fleets.sites()[0]
        few, many = (peak_mib(fleets, TABLES, site.slug, carts) for carts in ("40", "120"))

        assert many - few < 8


@pytest.mark.parametrize("since", [None, date(2026, 6, 1)])
def test_entries_are_read_page_by_page(fleets, tmp_path, since):
    with fleets.at("10k"):
        site = fleets.sites()[0]
        size = JournalHead.objects.get(pk=site.pk).size
        signed = Checkpoint(site=site, epoch=1, size=size, root=tree_of(site.pk, size).root())
        scope = Scope(site, Cut(AT, AT), since)

        with CaptureQueriesContext(connection) as asked:
            written = write_entries(scope, signed, tmp_path / "entries", lambda percent: None)

        assert written.size == size > 2 * PAGE_ENTRIES
        assert len(asked) <= size // PAGE_ENTRIES + 10
