from fleet.management.commands._importing import ImportCommand


class Command(ImportCommand):
    help = "Bring in a list of carts: new ones join, known ones change, all or nothing."
    sheet = "carts"
