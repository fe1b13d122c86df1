#!/usr/bin/env python3
"""How is any command of Casework started, on a machine where nothing may be installed yet?"""

import sys

if __name__ == "__main__":
    # Written so that an older Python still reads it.
    if sys.version_info < (3, 11):  # noqa: UP036
        sys.exit("Casework needs Python 3.11 or newer: python3.11 manage.py ...")
    from casework.launcher import main

    try:
        sys.exit(main(sys.argv))
    except KeyboardInterrupt:
        print("Ended.")
        sys.exit(130)
