"""The bundle's memory does not grow with the site, nor do its queries with the journal."""

from datetime import date

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from deploy.bench.child import peak_mib
from deploy.bench.lines.bundle import AT, TABLES, tables_of
from fleet.bundle.journal import PAGE_ENTRIES, write_entries
from fleet.bundle.scope import Scope
from fleet.kinds import Cut
from shared.models import Checkpoint, JournalHead
from shared.sealing import tree_of

pytestmark = pytest.mark.services
# of a batch of 25 carts, with its share of what is read for several at once
A_BATCH = 28


def test_more_carts_than_are_read_at_once_take_no_more_memory(fleets):
    with fleets.at("small"):
        site = fleets.sites()[0]
        few, many = (peak_mib(fleets, TABLES, site.slug, carts) for carts in ("100", "250"))

        assert many - few < 4


def test_two_batches_more_ask_no_table_that_holds_nothing_of_them(fleets):
    with fleets.at("small"):
        site, counts = fleets.sites()[0], []
        for carts in ("50", "100"):
            with CaptureQueriesContext(connection) as asked:
                tables_of(site.slug, carts)
            counts.append(len(asked))

    assert 0 < counts[1] - counts[0] <= 2 * A_BATCH


@pytest.mark.parametrize("since", [None, date(2026, 6, 1)])
def test_entries_are_read_page_by_page(fleets, tmp_path, since):
    with fleets.at("small"):
        site = fleets.sites()[0]
        size = JournalHead.objects.get(pk=site.pk).size
        signed = Checkpoint(site=site, epoch=1, size=size, root=tree_of(site.pk, size).root())
        scope = Scope(site, Cut(AT, AT), since)

        with CaptureQueriesContext(connection) as asked:
            written = write_entries(scope, signed, tmp_path / "entries", lambda percent: None)

        assert written.size == size > 2 * PAGE_ENTRIES
        assert len(asked) <= size // PAGE_ENTRIES + 12
