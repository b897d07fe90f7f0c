from fleet.management.commands._importing import ImportCommand


class Command(ImportCommand):
    help = "Bring in meter readings of any age, all or nothing."
    sheet = "readings"
