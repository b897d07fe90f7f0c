from fleet.management.commands._importing import ImportCommand


class Command(ImportCommand):
    help = "Bring in the lifts: which carts have one, which, since when; all or nothing."
    sheet = "fittings"
