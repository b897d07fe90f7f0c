"""The fleet's pages in the menu of each role, in their order."""

from django.utils.translation import gettext_lazy as _

from shared.menu import add_page


def add_pages():
    """Add the pages once, when the app loads."""
    add_page(5, _("Survey"), "survey", "surveyor")
    add_page(10, _("Board"), "board", "manager")
    add_page(15, _("Desk"), "desk", "desk", "manager", "mechanic")
    add_page(25, _("As it was"), "past-board", "surveyor")
    add_page(20, _("Carts"), "cart-list", "manager", "mechanic", "surveyor")
    add_page(12, _("Round"), "round-start", "mechanic", "manager")
    add_page(40, _("Tags"), "tag-list", "manager", "mechanic", "desk")
    add_page(50, _("Rule book"), "rule-book", "manager", "mechanic", "surveyor")
    add_page(70, _("Import"), "import", "manager")
    add_page(75, _("Audit bundles"), "bundle-list", "manager", "surveyor")
    add_page(76, _("Seal"), "seal", "manager", "surveyor")
    add_page(77, _("Sample"), "sample", "manager", "surveyor")
    add_page(80, _("People"), "people", "manager")
    add_page(87, _("Mails"), "mails", "manager")
    add_page(85, _("Surveyors"), "surveyor-list", "manager")
    add_page(87, _("Service"), "service", "manager")
    add_page(90, _("Site"), "site-change", "manager")


__all__ = ["add_page", "add_pages"]
