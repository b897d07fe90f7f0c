"""What keeps the tool from starting, in one line for the person who starts it."""


class CannotStart(Exception):
    pass
