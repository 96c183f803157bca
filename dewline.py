"""The command line of Dewline, and the only file that brings all its rooms together."""

import sys


def main() -> int:
    """Run one command."""
    sys.stderr.write("dewline: no command yet\n")
    return 2


if __name__ == "__main__":
    sys.exit(main())
