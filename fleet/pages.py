"""The fleet's pages in the menu of each role, in their order."""

from shared.menu import add_page


def add_pages():
    """Add the pages once, when the app loads."""


__all__ = ["add_page", "add_pages"]
