class Refused(Exception):
    """What was asked is not done, and nothing was touched; the one line says what to do."""


class Damaged(Refused):
    """A file of SQLite cannot be read, however often that is tried."""


class NotBegun(Refused):
    """Nothing was begun, for words given by hand are wrong: that is no run that failed."""


class OtherKey(Refused):
    """A backup is sealed with another key than the one at hand."""
