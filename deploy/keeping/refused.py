class Refused(Exception):
    """What was asked is not done, and nothing was touched; the one line says what to do."""
