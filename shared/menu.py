"""The menu of each role. Apps add their pages when they load."""

from dataclasses import dataclass

from django.urls import reverse


@dataclass(frozen=True)
class Page:
    """A page in the menu: its address takes the site's slug."""

    place: int
    label: str
    url_name: str
    roles: tuple[str, ...]


_pages: list[Page] = []


def add_page(place, label, url_name, *roles):
    _pages.append(Page(place, label, url_name, roles))


def home_url(role, site):
    """Return the address of the role's first page at the site, None without one."""
    pages = menu_for(role, site, "")
    return pages[0][1] if pages else None


def menu_for(role, site, path):
    """Return (label, address, is this the page shown) for each page of the role."""
    if role is None:
        return []
    pages = sorted((page for page in _pages if role in page.roles), key=lambda page: page.place)
    addresses = [(page.label, reverse(page.url_name, args=[site.slug])) for page in pages]
    return [(label, address, path == address) for label, address in addresses]
