#!/usr/bin/env python3
"""The one door: `start` sets everything up and runs it, `test` runs the whole suite, anything else is Django's."""

import os
import sys


def main() -> None:
    if sys.version_info < (3, 11):  # noqa: UP036  the reader's Python may be any; older ones cannot read firm/
        sys.exit("Soundings needs Python 3.11 or newer; this is " + sys.version.split()[0])
    from firm import bootstrap

    bootstrap.enter(sys.argv)
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "firm.settings")
    from django.core.management import execute_from_command_line

    execute_from_command_line(sys.argv)


if __name__ == "__main__":
    main()
