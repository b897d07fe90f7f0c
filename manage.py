#!/usr/bin/env python3
"""Run one of the tool's commands; without a name, list them."""

import os
import sys

from django.core.exceptions import ImproperlyConfigured
from django.core.management import execute_from_command_line
from django.db import OperationalError, ProgrammingError

from shared.disk import FULL, is_full

# away, locked, empty, of another release, or not this role's
OF_THE_DATABASE = (OperationalError, ProgrammingError)


def main():
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "deploy.settings")
    try:
        execute_from_command_line(sys.argv)
    except ImproperlyConfigured as error:
        sys.exit(f"Not started: {error}")
    except Exception as error:
        said = in_a_line(error)
        if not said or "--traceback" in sys.argv:
            raise
        sys.exit(said)


def in_a_line(error):
    """Return what to say of an error that the operator can do something about, else ""."""
    if is_full(error):
        return f"{FULL}. What was to be written was not: make room, and run it again."
    if isinstance(error, OF_THE_DATABASE):
        why = " ".join(str(error).split())
        return f"Broken off by the database: {why}. What to do: run manage.py doctor."
    return ""


if __name__ == "__main__":
    main()
