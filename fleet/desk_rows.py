"""Makes the desk's rows: strings alone, since a template draws those quickest."""

from typing import NamedTuple

from django.urls import reverse


class Row(NamedTuple):
    """One cart on the desk's list, as printed."""

    number: str
    url: str
    word: str
    is_no: bool
    about: str


def rows_of(lines, site):
    """Return a row for each line of the morning list."""
    desk_url = reverse("desk", args=[site.slug])
    return [_row(line, desk_url) for line in lines]


def _row(line, desk_url):
    said = line.said
    url = f"{desk_url}{said.cart.pk}/"
    return Row(said.cart.number, url, said.word, not said.goes, line.about)
