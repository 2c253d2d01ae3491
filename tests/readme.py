"""The commands that the README promises, read from the README itself."""

import re
import sys
from pathlib import Path

README = Path(__file__).parent.parent / "README.md"


def commands() -> dict[str, str]:
    """Return the README's shell blocks by the name in the comment above each: ``<!-- command: NAME -->``."""
    blocks = re.findall(r"<!-- command: (\w+) -->\n```sh\n(.*?)```", README.read_text("utf-8"), re.DOTALL)
    return {name: text.strip() for name, text in blocks}


if __name__ == "__main__":
    print(commands()[sys.argv[1]])
