#!/usr/bin/env python3
"""Run one of the tool's commands; without a name, list them."""

import os
import sys

from django.core.exceptions import ImproperlyConfigured
from django.core.management import execute_from_command_line

from shared.disk import FULL, is_full


def main():
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "deploy.settings")
    try:
        execute_from_command_line(sys.argv)
    except ImproperlyConfigured as error:
        sys.exit(f"Not started: {error}")
    except Exception as error:
        if not is_full(error):
            raise
        sys.exit(f"{FULL}. What was to be written was not: make room, and run it again.")


if __name__ == "__main__":
    main()
