class Refused(Exception):
    """What was asked is not done, and nothing was touched; the one line says what to do."""


class Damaged(Refused):
    """A file of SQLite cannot be read, however often that is tried."""
