"""From the command line to a verb's exit code."""

import sys

from bot import commands


def main() -> int:
    """Run the verb that was asked for: 0 done, 2 refused."""
    return commands.run(sys.argv[1:])


if __name__ == "__main__":
    sys.exit(main())
